package store

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"

	"pryday/scheduler"
)

func verify(t *testing.T, s *Store, club int64, kept ...string) (f AuditFinding) {
	t.Helper()
	if err := s.InSnapshot(context.Background(), club, func(tx *Tx) (err error) {
		f, err = tx.VerifyAudit(context.Background(), kept...)
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return f
}

func noteLines(t *testing.T, s *Store, club int64, subjects ...string) {
	t.Helper()
	ctx := WithOrigin(context.Background(), Origin{Source: "192.0.2.7"})
	for _, what := range subjects {
		inClub(t, s, club, func(tx *Tx) error { return tx.Audit(ctx, AuditEntry{Action: "save box", Subject: what}) })
	}
}

// Many who write at once, in several clubs, with entries that are taken back
// between them, leave a chain without a gap or a fork in each.
func TestManyWritersMakeOneChain(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	other, err := s.CreateClub(ctx, "Elsewhere")
	if err != nil {
		t.Fatal(err)
	}
	const writers, each = 8, 12
	var wg sync.WaitGroup
	errs := make(chan error, writers*each)
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				err := s.InClub(ctx, []int64{club, other}[(w+i)%2], func(tx *Tx) error {
					for range 1 + i%2 {
						if err := tx.Audit(ctx, AuditEntry{Action: "save box", Subject: fmt.Sprint(w, "/", i)}); err != nil {
							return err
						}
					}
					if i%4 == 3 {
						return errTakeBack
					}
					return nil
				})
				if err != nil && err != errTakeBack {
					errs <- err
				}
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		t.Error(err)
	}
	written := 0
	for _, c := range []int64{club, other} {
		f := verify(t, s, c)
		if f.Fault != "" || int64(f.Entries) != f.End.Number {
			t.Errorf("club %d: %+v", c, f)
		}
		written += f.Entries
	}
	if want := writers * (3 + 3*2 + 3); written != want {
		t.Errorf("%d entries, want %d", written, want)
	}
}

// Whoever changes the trail without writing it anew from there on is found out,
// at the first entry that does not fit.
func TestTamperingIsFound(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	noteLines(t, s, club, "1", "2", "3", "4", "5")
	if f := verify(t, s, club); f.Fault != "" || f.Entries != 5 || f.End.Number != 5 {
		t.Fatalf("untouched: %+v", f)
	}
	owner(t, s, `CREATE TABLE kept AS TABLE audit`, `CREATE TABLE kept_chain AS TABLE audit_chain`)
	for _, c := range []struct {
		name   string
		do     string
		fault  AuditFault
		number int64
	}{
		{"what it was done to", `UPDATE audit SET subject = 'x' WHERE number = 3`, AuditChanged, 3},
		{"what was done", `UPDATE audit SET action = 'x' WHERE number = 2`, AuditChanged, 2},
		{"when", `UPDATE audit SET at = at - interval '1 second' WHERE number = 1`, AuditChanged, 1},
		{"who", `UPDATE audit SET member_id = 1 WHERE number = 4`, AuditChanged, 4},
		{"who gave the command", `UPDATE audit SET command = 'x' WHERE number = 4`, AuditChanged, 4},
		{"from where", `UPDATE audit SET source = '192.0.2.8' WHERE number = 4`, AuditChanged, 4},
		{"the details", `UPDATE audit SET detail = '{}' WHERE number = 4`, AuditChanged, 4},
		{"whether others see it", `UPDATE audit SET personal = true WHERE number = 4`, AuditChanged, 4},
		{"as if somebody were erased", `UPDATE audit SET subject = 'x', rewritten = true WHERE number = 3`, AuditChanged, 3},
		{"its own hash with it", `UPDATE audit a SET action = 'x', hash = (SELECT audit_hash((SELECT hash FROM audit WHERE number = 2), e) FROM audit e WHERE e.number = 3) WHERE number = 3`, AuditChanged, 3},
		{"one removed", `DELETE FROM audit WHERE number = 3`, AuditMissing, 3},
		{"the first removed", `DELETE FROM audit WHERE number = 1`, AuditMissing, 1},
		{"the last removed", `DELETE FROM audit WHERE number = 5`, AuditMissing, 5},
		{"all removed", `DELETE FROM audit`, AuditMissing, 1},
		{"two swapped", `UPDATE audit SET number = -number WHERE number IN (2, 4); UPDATE audit SET number = 6 + number WHERE number < 0`, AuditChanged, 2},
		{"what two say swapped", `UPDATE audit SET subject = CASE number WHEN 2 THEN '4' ELSE '2' END WHERE number IN (2, 4)`, AuditChanged, 2},
		{"one put in without a number", `ALTER TABLE audit DISABLE TRIGGER chained; INSERT INTO audit (club_id, action, subject) SELECT max(club_id), 'x', 'y' FROM audit; ALTER TABLE audit ENABLE TRIGGER chained`, AuditUnlinked, 0},
		{"one put on the end", `INSERT INTO audit (club_id, action, subject, number, salt, seal, hash) SELECT club_id, action, subject, 6, salt, seal, hash FROM audit WHERE number = 5`, AuditChanged, 6},
		{"the end forgotten", `DELETE FROM audit_chain`, AuditUnlinked, 5},
	} {
		owner(t, s, strings.Split(c.do, "; ")...)
		f := verify(t, s, club)
		if f.Fault != c.fault || f.Number != c.number {
			t.Errorf("%s: %q at %d, want %q at %d", c.name, f.Fault, f.Number, c.fault, c.number)
		}
		if f.At.IsZero() != (f.Entries == 0 || c.number == 1 && c.fault == AuditMissing) {
			t.Errorf("%s: of %s", c.name, f.At)
		}
		owner(t, s, `DELETE FROM audit`, `DELETE FROM audit_chain`, `INSERT INTO audit_chain TABLE kept_chain`, `INSERT INTO audit TABLE kept`)
	}
	// All of it written anew fits, but not the hash that was kept elsewhere.
	before := verify(t, s, club).End.Hash
	if f := verify(t, s, club, before); len(f.Held) != 1 || f.Fault != "" {
		t.Fatalf("its own newest hash: %+v", f)
	}
	noteLines(t, s, club, "6")
	if f := verify(t, s, club, before); len(f.Held) != 1 {
		t.Errorf("a hash that others followed: %+v", f)
	}
	owner(t, s, `CREATE TABLE again AS SELECT club_id, id, at, action, subject || '!' AS subject FROM audit ORDER BY id`, `DELETE FROM audit`, `DELETE FROM audit_chain`,
		`INSERT INTO audit (club_id, id, at, action, subject) SELECT * FROM again ORDER BY id`)
	if f := verify(t, s, club, before); len(f.Held) != 0 || f.Fault != "" || f.Entries != 6 {
		t.Errorf("written anew: %+v", f)
	}
	err := s.InClub(ctx, club, func(tx *Tx) error {
		_, err := tx.tx.Exec(ctx, `INSERT INTO audit (club_id, action, subject, number, hash) VALUES ($1, 'x', 'y', 9, '')`, club)
		return err
	})
	if err == nil {
		t.Error("the serving role gives entries their numbers")
	}
}

// What is cleared, the sources that are kept for their time, members who leave
// and people who are erased leave a chain that fits.
func TestChainOutlivesWhatGoes(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, other, person := inTwoClubs(t, s)
	m := memberOf(t, s, club, person)
	brida := readClub(t, s, club).Members[1]
	owner(t, s, fmt.Sprintf(`INSERT INTO audit (club_id, action, subject, at) SELECT %d, 'a', 'old', '2019-01-01' FROM generate_series(1, 3)`, club))
	kept := verify(t, s, club).End.Hash
	noteLines(t, s, club, m.Name, m.Email+" and "+brida.Name, "nobody")
	owner(t, s, fmt.Sprintf(`INSERT INTO audit (club_id, action, subject, at, source) VALUES (%d, 'a', 'from afar', now() - interval '121 days', '192.0.2.9')`, club))
	whole := func(when string, entries int, cleared int64) {
		t.Helper()
		f := verify(t, s, club, kept)
		if f.Fault != "" || f.Entries != entries || f.Cleared != cleared || len(f.Held) != 1 {
			t.Errorf("%s: %+v", when, f)
		}
	}
	whole("written", 7, 0)
	if gone, err := s.Clear(ctx, sometime); err != nil || gone.Audit != 3 || gone.Sources != 1 {
		t.Fatalf("cleared %+v: %v", gone, err)
	}
	whole("cleared", 4, 3)
	if got := rowsOf(t, s, `SELECT DISTINCT source FROM audit WHERE subject = 'from afar'`); got[0] != "" {
		t.Errorf("the source is %q", got)
	}
	inClub(t, s, club, func(tx *Tx) error {
		return tx.Audit(WithOrigin(ctx, Origin{Source: "192.0.2.44"}), AuditEntry{MemberID: brida.ID, Action: "save box", Subject: "by " + brida.Name})
	})
	for _, id := range []int64{club, other} {
		inClub(t, s, id, func(tx *Tx) error {
			_, err := tx.AddMember(ctx, scheduler.Member{Name: "Next", Email: "next@example.org", Role: scheduler.Organiser})
			return err
		})
	}
	if err := s.ErasePerson(WithOrigin(ctx, Origin{Command: "tam"}), person); err != nil {
		t.Fatal(err)
	}
	whole("one erased", 6, 3)
	if err := s.ErasePerson(ctx, brida.PersonID); err != nil {
		t.Fatal(err)
	}
	whole("another erased", 7, 3)
	if got := everywhere(t, s, "192.0.2.44"); len(got) > 0 {
		t.Errorf("where the erased person came from stands in %v", got)
	}
	for word := range strings.SplitSeq(m.Name+"|"+m.Email+"|"+brida.Name, "|") {
		if got := everywhere(t, s, word); len(got) > 0 {
			t.Errorf("%q stands in %v", word, got)
		}
	}
	if got := rowsOf(t, s, `SELECT count(*) || ' ' || max(command) FROM audit WHERE action = 'erase person' AND subject = 'a former member'`); got[0] != "3 tam" {
		t.Errorf("erasing is noted as %q", got)
	}
	// What stands there now cannot be changed once more.
	owner(t, s, `UPDATE audit SET subject = 'somebody else' WHERE number = 5`)
	if f := verify(t, s, club); f.Fault != AuditChanged || f.Number != 5 {
		t.Errorf("changed after it was rewritten: %+v", f)
	}
}

// What a person does to sign in stands in the trail of each club, for the own
// eyes where there are several.
func TestSigningInIsNoted(t *testing.T) {
	t.Parallel()
	s := open(t)
	club, _, person := inTwoClubs(t, s)
	ctx := WithOrigin(context.Background(), Origin{Source: "192.0.2.7"})
	brida := readClub(t, s, club).Members[1]
	for _, p := range []int64{person, brida.PersonID} {
		signIn := begin(t, s, p)
		key, err := s.AddPasskey(ctx, Passkey{PersonID: p, Credential: []byte{byte(p)}, Data: []byte(`{}`)})
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := s.UsePasskey(ctx, key, []byte(`{}`), Device{Source: "192.0.2.7"}); err != nil {
			t.Fatal(err)
		}
		for _, err := range []error{
			s.EndSignIn(ctx, p, signIn), s.RemovePasskey(ctx, p, key), s.SignOutEverywhere(ctx, p, Everywhere{}), s.NotePerson(ctx, p, "take own data along"),
		} {
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	const all = "take own data along, sign out everywhere, end passkey, sign out, sign in with passkey, add passkey, sign in with mail"
	of := func(reader, member int64) string {
		var deeds []string
		inClub(t, s, club, func(tx *Tx) error {
			trail, err := tx.AuditTrail(ctx, reader, 0, 100)
			for _, e := range trail {
				if e.MemberID == member {
					deeds = append(deeds, e.Action)
					if e.Source != "192.0.2.7" {
						t.Errorf("%s came from %q", e.Action, e.Source)
					}
				}
			}
			return err
		})
		return strings.Join(deeds, ", ")
	}
	ansel := memberOf(t, s, club, person).ID
	for _, c := range []struct {
		reader, of int64
		want       string
	}{{ansel, ansel, all}, {brida.ID, ansel, ""}, {ansel, brida.ID, all}, {brida.ID, brida.ID, all}} {
		if got := of(c.reader, c.of); got != c.want {
			t.Errorf("%d reads of %d %q, want %q", c.reader, c.of, got, c.want)
		}
	}
	if f := verify(t, s, club); f.Fault != "" || f.Entries != 14 {
		t.Errorf("%+v", f)
	}
}
