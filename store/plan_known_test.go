package store

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"pryday/scheduler"
)

// twins are two clubs with the same records. What rates came from is forgotten in
// the second before each night, so that it is planned from all its records.
type twins struct {
	t     *testing.T
	s     *Store
	clubs [2]int64
}

// each does the same in both, each time with the records as they are there.
func (w *twins) each(do func(tx *Tx, c *scheduler.Club) error) {
	w.t.Helper()
	for _, club := range w.clubs {
		c := readClub(w.t, w.s, club)
		inClub(w.t, w.s, club, func(tx *Tx) error { return do(tx, c) })
	}
}

// said is what stands after a night, without the ids that differ between the two.
func (w *twins) said(club int64) (out string, kept int) {
	w.t.Helper()
	c, name := readClub(w.t, w.s, club), map[int64]string{}
	for b := range eachBox(c) {
		name[b.ID] = b.Name
	}
	for i := range c.Visits {
		v := &c.Visits[i]
		out += fmt.Sprintf("%s %s %d people, taken %v:", v.On, v.Status, len(v.Who), v.IsTaken())
		for _, b := range v.Boxes {
			out += fmt.Sprintf(" %s %s %s %.4f", name[b.BoxID], b.Due, b.Reason, b.Odds)
		}
		out += "\n"
	}
	inClub(w.t, w.s, club, func(tx *Tx) error {
		states, err := tx.BoxStates(context.Background(), 0)
		for i := range states {
			s := &states[i]
			out += fmt.Sprintf("%s %s %s %s %s %d %v\n", name[s.BoxID], s.Due, s.Reason, s.LastTried, s.ListedOn, s.Openings, s.Outlook)
		}
		if err != nil {
			return err
		}
		return tx.tx.QueryRow(context.Background(), `SELECT count(rates_from) FROM apiary`).Scan(&kept)
	})
	return out, kept
}

// TestNightsFromWhatIsKnown: a club that goes on from the rates that it kept is planned as
// one that works them out from all openings, whatever its members write down by day.
func TestNightsFromWhatIsKnown(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	const apiaries = chunk + 4
	w := &twins{t, s, [2]int64{importCrowded(t, s, apiaries), importCrowded(t, s, apiaries)}}
	dice, known := rand.New(rand.NewPCG(46, 1)), 0
	for day := today; day < today+36; day += 3 {
		inClub(t, s, w.clubs[1], func(tx *Tx) error { _, err := tx.tx.Exec(ctx, `UPDATE apiary SET rates_from = NULL`); return err })
		for _, club := range w.clubs {
			if n, _, err := s.ReplanClub(ctx, club, day); err != nil || n != apiaries {
				t.Fatalf("planned %d: %v", n, err)
			}
		}
		one, kept := w.said(w.clubs[0])
		other, _ := w.said(w.clubs[1])
		if one != other {
			t.Fatalf("%s: from what is known\n%s\nfrom all records\n%s", day, one, other)
		}
		known += kept
		for range 6 {
			deed, from, to, late := dice.IntN(8), dice.IntN(apiaries), dice.IntN(apiaries), dice.IntN(40)
			difficulty := scheduler.Difficulty(dice.IntN(5))
			w.each(func(tx *Tx, c *scheduler.Club) (err error) {
				hive := &c.Apiaries[from].Hives[0]
				n := len(hive.Boxes)
				switch {
				case deed == 0 && n > 1 && from != to:
					_, err = tx.MoveBox(ctx, hive.Boxes[n-1].ID, scheduler.BoxPlace{
						From: day, Where: scheduler.OnHive, HiveID: c.Apiaries[to].Hives[0].ID, Position: len(c.Apiaries[to].Hives[0].Boxes) + 1,
					}, day)
				case deed == 1:
					_, err = tx.Happen(ctx, scheduler.ColonyStep{ID: fmt.Sprintf("00000000-0000-4000-8000-%06d%06d", day, c.ID*100+hive.ID%100), HiveID: hive.ID, On: day, What: scheduler.Requeened}, day)
				case deed == 2:
					a := c.Apiaries[from]
					a.SeasonShiftDays = late%5 - 2
					_, err = tx.UpdateApiary(ctx, a, day)
				case deed > 4: // a visit of which one box is written down
					for i := range c.Visits {
						v := &c.Visits[i]
						if len(v.Boxes) > 0 && v.On <= day && v.On >= day-4 && (v.Status.Open() || v.Status == scheduler.Unanswered) {
							last := v.Boxes[len(v.Boxes)-1].BoxID
							_, err = tx.RecordOpening(ctx, last, scheduler.Opening{On: v.On, Joint: difficulty, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart}, day)
							break
						}
					}
				case deed > 2 && n > 0:
					_, err = tx.RecordOpening(ctx, hive.Boxes[late%n].ID, scheduler.Opening{On: day - scheduler.Date(late), Joint: difficulty, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart}, day)
				}
				return err
			})
		}
	}
	if known < 8*apiaries {
		t.Errorf("rates of %d apiaries were kept in 12 nights: too few", known)
	}
}
