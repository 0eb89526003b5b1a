package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// AuditFault says what does not fit at an entry of the trail.
type AuditFault string

// What can be wrong with an entry, or before it.
const (
	AuditMissing  AuditFault = "missing"  // it is not there
	AuditChanged  AuditFault = "changed"  // what it says is not what was written
	AuditUnlinked AuditFault = "unlinked" // it does not follow from the one before, or was never chained
)

// AuditFinding is what came of going through a club's trail.
type AuditFinding struct {
	Entries int      // that are there
	Cleared int64    // up to which number they have been kept for their time
	End     AuditEnd // the newest
	Held    []string // of the hashes asked for, those that are of an entry, or of the last cleared

	Fault  AuditFault // empty when all entries fit
	Number int64      // of the first that does not; 0 for one without a number
	At     time.Time  // of it, or of the last one before it; zero where there is none
}

// Text says what does not fit.
func (f *AuditFinding) Text() text.Text {
	on := scheduler.DateOf(f.At)
	switch {
	case f.Fault == "":
		return text.New("page.audit.whole", text.New("page.audit.entries", f.Entries))
	case f.Fault == AuditChanged:
		return text.New("page.audit.changed", f.Number, on)
	case f.Fault == AuditUnlinked && f.Number == 0:
		return text.New("page.audit.unnumbered", on)
	case f.Fault == AuditUnlinked:
		return text.New("page.audit.unlinked", f.Number, on)
	case f.At.IsZero():
		return text.New("page.audit.missing-first", f.Number)
	}
	return text.New("page.audit.missing", f.Number, on)
}

// VerifyAudit goes through the club's trail, from the last entry that was
// cleared to the newest, and hashes each anew. It looks for the hashes that were
// kept elsewhere, in hexadecimal digits.
func (tx *Tx) VerifyAudit(ctx context.Context, kept ...string) (AuditFinding, error) {
	v := auditWalk{kept: kept, now: map[int64]auditRow{}, noted: map[int64]string{}, hash: make([]byte, sha256.Size)}
	var head struct {
		number int64
		hash   []byte
	}
	heads, err := tx.tx.Query(ctx, `SELECT number, hash, cleared, cleared_hash FROM audit_chain`)
	if err == nil {
		var anchor []byte
		_, err = pgx.ForEachRow(heads, []any{&head.number, &head.hash, &v.Cleared, &anchor}, func() error {
			v.hash, v.number = bytes.Clone(anchor), v.Cleared
			return nil
		})
	}
	if err != nil {
		return v.AuditFinding, tx.wrap(err, "read the end of the audit trail")
	}
	v.End = AuditEnd{head.number, hex.EncodeToString(head.hash)}
	v.look()
	rows, err := tx.tx.Query(ctx, auditRows)
	if err != nil {
		return v.AuditFinding, tx.wrap(err, "read the audit trail")
	}
	var e auditRow
	_, err = pgx.ForEachRow(rows, e.columns(), func() error {
		v.step(&e)
		e = auditRow{}
		return nil
	})
	v.settle(head.number, head.hash)
	return v.AuditFinding, tx.wrap(err, "go through the audit trail")
}

// auditRows encodes entries as the migration's audit_content and audit_hash do.
// It stands here once more, so that whoever changes those is found out.
const auditRows = `
	SELECT coalesce(number, 0), at, action, detail, hash, salt, seal, source, source_salt, source_seal, rewritten,
	       jsonb_build_array(coalesce(member_id, 0), command, subject, detail)::text,
	       jsonb_build_array(number, club_id, (extract(epoch FROM at) * 1000000)::bigint, action, personal,
	                         encode(seal, 'hex'), encode(coalesce(source_seal, ''), 'hex'))::text
	  FROM audit ORDER BY number`

type auditRow struct {
	number                 int64
	at                     time.Time
	action                 string
	detail                 []byte
	hash, salt, seal       []byte
	source                 string
	sourceSalt, sourceSeal []byte
	rewritten              bool
	content, link          string
}

func (e *auditRow) columns() []any {
	return []any{
		&e.number, &e.at, &e.action, &e.detail, &e.hash, &e.salt, &e.seal, &e.source, &e.sourceSalt, &e.sourceSeal, &e.rewritten,
		&e.content, &e.link,
	}
}

func seal(salt []byte, what string) []byte {
	sum := sha256.Sum256(append(bytes.Clone(salt), what...))
	return sum[:]
}

// whole reports whether the entry says what was sealed. What was rewritten is
// held against the entry that noted it, later.
func (e *auditRow) whole() bool {
	if !e.rewritten && !bytes.Equal(seal(e.salt, e.content), e.seal) {
		return false
	}
	if e.source == "" {
		return true // none, or kept for its time
	}
	return bytes.Equal(seal(e.sourceSalt, e.source), e.sourceSeal)
}

// auditWalk is a way along a chain.
type auditWalk struct {
	AuditFinding
	kept   []string
	number int64 // of the last entry
	at     time.Time
	hash   []byte             // of it, as it must be
	now    map[int64]auditRow // what was rewritten
	noted  map[int64]string   // seals of what was rewritten, from the entries that noted it
}

func (v *auditWalk) step(e *auditRow) {
	v.Entries++
	if e.number == 0 {
		v.fault(AuditUnlinked, 0, e.at)
		return
	}
	follows := append([]byte(`["`+hex.EncodeToString(v.hash)+`", `), e.link[1:]...)
	sum := sha256.Sum256(follows)
	switch {
	case e.number != v.number+1:
		v.fault(AuditMissing, v.number+1, v.at)
	case !e.whole() || !bytes.Equal(sum[:], e.hash):
		v.fault(AuditChanged, e.number, e.at)
	}
	if e.rewritten {
		v.now[e.number] = *e
	}
	var noted struct{ Rewritten [][2]json.RawMessage }
	if e.action == erased && json.Unmarshal(e.detail, &noted) == nil {
		for _, r := range noted.Rewritten {
			var number int64
			var seal string
			if json.Unmarshal(r[0], &number) == nil && json.Unmarshal(r[1], &seal) == nil {
				v.noted[number] = seal
			}
		}
	}
	v.number, v.at, v.hash = e.number, e.at, bytes.Clone(e.hash)
	v.look()
}

// erased is the action of the entry that notes what was rewritten when a person
// was erased.
const erased = "erase person"

// look looks whether the last entry's hash is one of those asked for.
func (v *auditWalk) look() {
	for _, k := range v.kept {
		if v.number > 0 && k == hex.EncodeToString(v.hash) {
			v.Held = append(v.Held, k)
		}
	}
}

// settle holds what was rewritten against what was noted of it, and the last
// entry against the newest that was ever written.
func (v *auditWalk) settle(number int64, hash []byte) {
	for n, e := range v.now {
		if v.noted[n] != hex.EncodeToString(seal(e.salt, e.content)) {
			v.fault(AuditChanged, n, e.at)
		}
	}
	switch {
	case v.number < number:
		v.fault(AuditMissing, v.number+1, v.at)
	case hash == nil && v.number > 0, hash != nil && !bytes.Equal(v.hash, hash):
		v.fault(AuditUnlinked, v.number, v.at)
	}
}

// fault keeps the first of all that does not fit.
func (v *auditWalk) fault(f AuditFault, number int64, at time.Time) {
	if v.Fault == "" || number < v.Number {
		v.Fault, v.Number, v.At = f, number, at
	}
}
