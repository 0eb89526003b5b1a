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
	At       time.Time
}

const selectRules = `
	SELECT version, document, coalesce(author_id, 0) AS author_id, note, created_at FROM rules `

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
		out[i] = RulesVersion{Version: r.Version, Rules: rules, AuthorID: r.AuthorID, Note: r.Note, At: r.CreatedAt}
	}
	return out, nil
}

// ApplyRules makes a new version hold and owes a replan of the club. It
// returns the version that holds; rules equal to the present ones make none.
func (tx *Tx) ApplyRules(ctx context.Context, r scheduler.Rules, author int64, note string, today scheduler.Date) (int, error) {
	version, changed, err := tx.saveRules(ctx, r, author, note)
	if err != nil || !changed {
		return version, err
	}
	tx.feedChanged() // the gap limits and the reasons' words stand in calendars
	return version, tx.OweReplan(ctx, today)
}

// saveRules adds a version unless r already holds.
func (tx *Tx) saveRules(ctx context.Context, r scheduler.Rules, author int64, note string) (version int, changed bool, err error) {
	// Two at once would both take the next number; the second waits here.
	if _, err := tx.tx.Exec(ctx, `SELECT FROM club FOR NO KEY UPDATE`); err != nil {
		return 0, false, tx.wrap(err, "lock the rules")
	}
	now, err := tx.Rules(ctx)
	if err != nil {
		return 0, false, err
	}
	document, err := encodeRules(&r)
	if err != nil {
		return 0, false, tx.wrap(err, "save the rules")
	}
	if old, err := encodeRules(&now.Rules); err == nil && string(old) == string(document) {
		return now.Version, false, nil
	}
	err = tx.tx.QueryRow(ctx, `
		INSERT INTO rules (club_id, version, document, author_id, note)
		SELECT $1, max(version) + 1, $2, nullif($3, 0), $4 FROM rules
		RETURNING version`, tx.club, document, author, note).Scan(&version)
	return version, true, tx.wrap(err, "save the rules")
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
