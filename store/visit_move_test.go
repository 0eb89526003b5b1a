package store

import (
	"context"
	"maps"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// openVisits are a club's open visits by their identity.
func openVisits(t *testing.T, s *Store, club int64) map[string]VisitRecord {
	t.Helper()
	out := map[string]VisitRecord{}
	inClub(t, s, club, func(tx *Tx) error {
		visits, err := tx.Visits(context.Background(), VisitFilter{OpenOnly: true})
		for _, v := range visits {
			out[v.UID] = v
		}
		return err
	})
	return out
}

// dearer are rules that move most visits of the sample.
func dearer() scheduler.Rules {
	r := scheduler.DefaultRules()
	r.OddsLimit, r.MinDays, r.HoldHours = 0.08, 62, 0
	return r
}

// importClosed is importSample with apiaries that nobody may go to for ten days:
// the next visits are far enough away to be moved.
func importClosed(t *testing.T, s *Store) int64 {
	t.Helper()
	c := sampleClub()
	for i := range c.Apiaries {
		c.Apiaries[i].NoGo = []scheduler.Period{{From: today, Until: today + 9, Reason: "lambing"}}
	}
	club := importClub(t, s, c)
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.ReplanAll(context.Background(), today)
		return err
	})
	return club
}

// ruled makes rules hold and plans the club by them.
func ruled(t *testing.T, s *Store, club int64, r scheduler.Rules, on scheduler.Date) (done RulesApplied) {
	t.Helper()
	ctx := context.Background()
	inClub(t, s, club, func(tx *Tx) (err error) {
		done, err = tx.ApplyRules(ctx, RulesEdit{Rules: r}, on)
		return err
	})
	planned(t, s, club, on)
	return done
}

func planned(t *testing.T, s *Store, club int64, on scheduler.Date) {
	t.Helper()
	if _, more, err := s.ReplanClub(context.Background(), club, on); err != nil || more {
		t.Fatalf("more %t: %v", more, err)
	}
}

// putBacks are what the rules that hold put back.
func putBacks(t *testing.T, s *Store, club int64) (out map[scheduler.PutBack]int) {
	t.Helper()
	ctx := context.Background()
	inClub(t, s, club, func(tx *Tx) error {
		held, err := tx.Rules(ctx)
		if err == nil {
			out, err = tx.PutBacks(ctx, held.Version)
		}
		return err
	})
	return out
}

// TestGoingBackToOldRules holds what a change of rules moved, and the days on
// which it stands when the rules of before hold again.
func TestGoingBackToOldRules(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	// other is a third set of rules.
	other := dearer()
	other.OddsLimit, other.NoticeDays = 0.12, 30
	take := func(t *testing.T, s *Store, club int64, v VisitRecord) {
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.TakeVisit(ctx, v.ID, v.Sequence, v.Who[0], today)
			return err
		})
	}
	for _, test := range []struct {
		name  string
		since func(t *testing.T, s *Store, club int64, moved []VisitRecord) (touched string)
		back  scheduler.Date // the day of going back
		what  map[scheduler.PutBack]int
	}{
		{"nobody touched anything", nil, today, nil},
		{"nights lie between", func(t *testing.T, s *Store, club int64, _ []VisitRecord) string {
			planned(t, s, club, today+1)
			planned(t, s, club, today+2)
			return ""
		}, today + 2, nil},
		{"one was taken", func(t *testing.T, s *Store, club int64, moved []VisitRecord) string {
			take(t, s, club, moved[0])
			return moved[0].UID
		}, today, map[scheduler.PutBack]int{scheduler.Touched: 1}},
		{"two changes after each other", func(t *testing.T, s *Store, club int64, _ []VisitRecord) string {
			if done := ruled(t, s, club, other, today); done.Version != 3 || done.Restores != 0 {
				t.Errorf("%+v", done)
			}
			return ""
		}, today, nil},
		{"there and back once before", func(t *testing.T, s *Store, club int64, _ []VisitRecord) string {
			ruled(t, s, club, scheduler.DefaultRules(), today)
			if done := ruled(t, s, club, dearer(), today); done.Version != 4 || done.Restores != 2 {
				t.Errorf("%+v", done)
			}
			return ""
		}, today, nil},
		{"an opening in store lies between", func(t *testing.T, s *Store, club int64, _ []VisitRecord) string {
			spare := readClub(t, s, club).Spare[0].ID
			inClub(t, s, club, func(tx *Tx) error {
				_, err := tx.RecordOpening(ctx, spare, scheduler.Opening{ID: uuid.NewString(), On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried}, today)
				return err
			})
			return ""
		}, today, nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			s := open(t)
			club := importClosed(t, s)
			was := openVisits(t, s, club)
			if done := ruled(t, s, club, dearer(), today); done.Version != 2 || done.Restores != 0 {
				t.Fatalf("%+v", done)
			}
			var moved []VisitRecord
			for uid, v := range openVisits(t, s, club) {
				if o, ok := was[uid]; ok && o.On != v.On && o.Status == scheduler.Confirmed && len(v.Who) > 0 {
					moved = append(moved, v)
				}
			}
			if len(moved) == 0 {
				t.Fatal("the rules moved no visit that people count on")
			}
			touched := ""
			if test.since != nil {
				touched = test.since(t, s, club, moved)
			}
			before := openVisits(t, s, club)
			if done := ruled(t, s, club, scheduler.DefaultRules(), test.back); done.Restores == 0 {
				t.Fatalf("%+v", done)
			}
			now := openVisits(t, s, club)
			for _, v := range moved {
				n, want := now[v.UID], was[v.UID].On
				if v.UID == touched {
					want = before[v.UID].On
				}
				if n.On != want || v.UID != touched && n.Sequence <= before[v.UID].Sequence {
					t.Errorf("visit %d stood on %s and %s, and is on %s at %d after %d, want %s", v.ID, was[v.UID].On, v.On, n.On, n.Sequence, before[v.UID].Sequence, want)
				}
			}
			got := putBacks(t, s, club)
			if got[scheduler.WentBack] < len(moved)-test.what[scheduler.Touched] || got[scheduler.Touched] != test.what[scheduler.Touched] {
				t.Errorf("of %d moved it became %v", len(moved), got)
			}
			if test.back == today {
				savedIsPlanned(t, s, club)
			}
		})
	}
}

// TestPlanningTwiceNotesOnce: a night's plan by the same rules is no change of
// them, and what it moves is not put back.
func TestPlanningTwiceNotesOnce(t *testing.T) {
	t.Parallel()
	s := open(t)
	club := importClosed(t, s)
	count := func() (n int) {
		t.Helper()
		inClub(t, s, club, func(tx *Tx) error {
			return tx.tx.QueryRow(context.Background(), `SELECT count(*) FROM visit_move`).Scan(&n)
		})
		return n
	}
	planned(t, s, club, today+1)
	if n := count(); n != 0 {
		t.Errorf("%d moves noted of a club that changed no rules", n)
	}
	ruled(t, s, club, dearer(), today+1)
	n := count()
	planned(t, s, club, today+9)
	if got := count(); n == 0 || got != n {
		t.Errorf("%d moves noted, and %d after another night", n, got)
	}
	if got := putBacks(t, s, club); !maps.Equal(got, map[scheduler.PutBack]int{}) {
		t.Errorf("new rules put back %v", got)
	}
}
