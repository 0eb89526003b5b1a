package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"pryday/scheduler"
)

// RulesVersion is one version of a club's rules.
type RulesVersion struct {
	Version  int
	Rules    scheduler.Rules
	AuthorID int64 // member id; 0 when not known
	Note     string
	Restores int // the last earlier version that had the same rules; 0 for none
	At       time.Time
}

const selectRules = `
	SELECT version, document, coalesce(author_id, 0) AS author_id, note, coalesce(restores, 0) AS restores, created_at FROM rules `

// Rules reads the rules that hold.
func (tx *Tx) Rules(ctx context.Context) (*RulesVersion, error) {
	return tx.oneRules(ctx, "read the rules", selectRules+`ORDER BY version DESC LIMIT 1`)
}

// RulesAt reads one version.
func (tx *Tx) RulesAt(ctx context.Context, version int) (*RulesVersion, error) {
	return tx.oneRules(ctx, fmt.Sprintf("read version %d of the rules", version), selectRules+`WHERE version = $1`, version)
}

func (tx *Tx) oneRules(ctx context.Context, what, sql string, args ...any) (*RulesVersion, error) {
	all, err := tx.rules(ctx, sql, args...)
	if err == nil && len(all) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "%s", what)
	}
	return &all[0], nil
}

// RulesVersions lists every version, the newest first.
func (tx *Tx) RulesVersions(ctx context.Context) ([]RulesVersion, error) {
	all, err := tx.rules(ctx, selectRules+`ORDER BY version DESC`)
	return all, tx.wrap(err, "list the versions of the rules")
}

func (tx *Tx) rules(ctx context.Context, sql string, args ...any) ([]RulesVersion, error) {
	type row struct {
		Version   int
		Document  []byte
		AuthorID  int64
		Note      string
		Restores  int
		CreatedAt time.Time
	}
	rows, err := list[row](ctx, tx, sql, args...)
	if err != nil {
		return nil, err
	}
	out := make([]RulesVersion, len(rows))
	for i, r := range rows {
		rules, err := decodeRules(r.Document)
		if err != nil {
			return nil, fmt.Errorf("version %d: %w", r.Version, err)
		}
		out[i] = RulesVersion{Version: r.Version, Rules: rules, AuthorID: r.AuthorID, Note: r.Note, Restores: r.Restores, At: r.CreatedAt}
	}
	return out, nil
}

// RulesEdit are rules that somebody wants to hold.
type RulesEdit struct {
	Rules    scheduler.Rules
	Base     int   // the version that they were made from; 0 stands for whichever holds
	AuthorID int64 // member id; 0 when not known
	Note     string
}

// RulesApplied tells what ApplyRules did.
type RulesApplied struct {
	Version  int // that holds now
	Replaced int // that held before; the same when nothing changed
	Restores int // the last earlier version that had these rules; 0 for none
}

// ApplyRules makes a new version hold and owes a replan of the club. Rules
// equal to those that hold make none. ErrRulesChanged when others hold by now
// than those that the edit was made from: of two who save at once, the second
// sees what the first changed before doing away with it.
func (tx *Tx) ApplyRules(ctx context.Context, e RulesEdit, today scheduler.Date) (RulesApplied, error) {
	done, err := tx.saveRules(ctx, e)
	if err != nil || done.Version == done.Replaced {
		return done, err
	}
	tx.feedChanged() // the gap limits and the reasons' words stand in calendars
	return done, tx.OweReplan(ctx, today)
}

// saveRules adds a version unless the rules hold already.
func (tx *Tx) saveRules(ctx context.Context, e RulesEdit) (RulesApplied, error) {
	// The second of two at once waits here, and then reads what the first saved.
	if _, err := tx.tx.Exec(ctx, `SELECT FROM club FOR NO KEY UPDATE`); err != nil {
		return RulesApplied{}, tx.wrap(err, "lock the rules")
	}
	all, err := tx.RulesVersions(ctx)
	if err == nil && len(all) == 0 {
		err = tx.wrap(ErrNotFound, "read the rules")
	}
	if err != nil {
		return RulesApplied{}, err
	}
	held := &all[0]
	done := RulesApplied{Version: held.Version, Replaced: held.Version}
	if len(scheduler.DifferentRules(&held.Rules, &e.Rules)) == 0 {
		return done, nil
	}
	if e.Base != 0 && e.Base != held.Version {
		return done, tx.wrap(ErrRulesChanged, "save rules made from version %d over version %d", e.Base, held.Version)
	}
	done.Restores = sameRules(all, &e.Rules)
	document, err := encodeRules(&e.Rules)
	if err != nil {
		return done, tx.wrap(err, "save the rules")
	}
	err = tx.tx.QueryRow(ctx, `
		INSERT INTO rules (club_id, version, document, author_id, note, restores)
		VALUES ($1, $2, $3, nullif($4, 0), $5, nullif($6, 0))
		RETURNING version`, tx.club, held.Version+1, document, e.AuthorID, e.Note, done.Restores).Scan(&done.Version)
	return done, tx.wrap(err, "save the rules")
}

// sameRules returns the last of the versions, the newest first, that has some
// rules; 0 for none.
func sameRules(all []RulesVersion, r *scheduler.Rules) int {
	for i := range all {
		if len(scheduler.DifferentRules(&all[i].Rules, r)) == 0 {
			return all[i].Version
		}
	}
	return 0
}

// encodeRules writes rules as people type them, under the paths that rules
// files use: every one of them, so that a later change of a default does not
// change a club's rules.
func encodeRules(r *scheduler.Rules) ([]byte, error) {
	document := map[string]string{}
	for i := range scheduler.RuleKeys() {
		k := &scheduler.RuleKeys()[i]
		if v := k.Get(r); v != nil {
			document[k.Path] = scheduler.FormatRule(v)
		}
	}
	return json.Marshal(document)
}

// decodeRules reads what encodeRules wrote; absent paths take the defaults,
// absent optional ones are not set.
func decodeRules(document []byte) (scheduler.Rules, error) {
	r := scheduler.DefaultRules()
	var values map[string]string
	if err := json.Unmarshal(document, &values); err != nil {
		return r, fmt.Errorf("read stored rules: %w", err)
	}
	for i := range scheduler.RuleKeys() {
		k := &scheduler.RuleKeys()[i]
		text, ok := values[k.Path]
		if !ok {
			continue
		}
		delete(values, k.Path)
		v, err := k.ParseRule(text)
		if err == nil {
			err = k.Set(&r, v)
		}
		if err != nil {
			return r, fmt.Errorf("stored rule %s = %s: allowed is %w", k.Path, text, err)
		}
	}
	for path := range values {
		return r, fmt.Errorf("stored rule %s is not known to this program", path)
	}
	return r, nil
}
