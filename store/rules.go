package store

import (
	"context"
	"time"

	"pryday/scheduler"
)

// RulesVersion is one version of a club's rules.
type RulesVersion struct {
	Version  int
	Rules    scheduler.Rules
	AuthorID int64 // member id; 0 when not known
	Note     string
	At       time.Time
}

// Rules reads the rules that hold.
func (tx *Tx) Rules(ctx context.Context) (*RulesVersion, error) { panic("not written yet") }

// RulesAt reads one version.
func (tx *Tx) RulesAt(ctx context.Context, version int) (*RulesVersion, error) {
	panic("not written yet")
}

// RulesVersions lists every version, the newest first.
func (tx *Tx) RulesVersions(ctx context.Context) ([]RulesVersion, error) { panic("not written yet") }

// ApplyRules makes a new version hold and owes a replan of the club. It
// returns the version; equal rules make none.
func (tx *Tx) ApplyRules(ctx context.Context, r scheduler.Rules, author int64, note string, today scheduler.Date) (int, error) {
	panic("not written yet")
}
