package store

import (
	"context"
	"math"
	"testing"

	"pryday/scheduler"
)

// said reads what is on record of a club, whichever openings count.
func said(t *testing.T, s *Store, club int64) (out []scheduler.Outcome) {
	t.Helper()
	inClub(t, s, club, func(tx *Tx) (err error) {
		out, err = tx.Outcomes(context.Background())
		return err
	})
	return out
}

// TestWhatWasSaidIsKept: with an opening it is written down what the plan said of it
// before, and later records change nothing about that.
func TestWhatWasSaidIsKept(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.ReplanAll(ctx, today); return err })
	before := readClub(t, s, club)
	boxes := before.Apiaries[0].Hives[0].Boxes
	if len(said(t, s, club)) != 0 {
		t.Fatal("something was said of an imported history")
	}
	record := func(box int64, o scheduler.Opening, now scheduler.Date) string {
		t.Helper()
		var id string
		inClub(t, s, club, func(tx *Tx) error {
			r, err := tx.RecordOpening(ctx, box, o, now)
			if err == nil && len(r.New) > 0 {
				id = r.New[0]
			}
			return err
		})
		return id
	}
	o := scheduler.Opening{On: today, Joint: scheduler.Hard, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}
	first := record(boxes[0].ID, o, today)
	rate, _ := scheduler.Replay(before, today-1).Of(boxes[0].ID)
	season := scheduler.NewSeason(before.Apiaries[0].Place(), &before.Rules)
	want := scheduler.Outcome{On: today, Found: scheduler.Hard, Forecast: scheduler.Forecast{
		MadeOn: today, Openings: rate.Openings, Rules: 1,
		Hard: rate.Odds(season, today, scheduler.Hard), Stuck: rate.Odds(season, today, scheduler.Stuck),
	}}
	want.ModelHard, want.ModelStuck = want.Hard, want.Stuck
	got := said(t, s, club)
	if len(got) != 1 || got[0] != want || want.Hard <= 0 {
		t.Fatalf("said %+v, want %+v", got, want)
	}

	// What is learned later changes nothing: other boxes, corrections, an older opening.
	record(boxes[1].ID, scheduler.Opening{On: today, Joint: scheduler.Stuck, LeftShut: true, Frames: scheduler.NotTried}, today)
	record(boxes[0].ID, scheduler.Opening{On: today - 300, Joint: scheduler.Stuck, Frames: scheduler.NotTried}, today)
	if got = said(t, s, club); len(got) != 2 || got[0] != want || got[1].Found != scheduler.Stuck {
		t.Fatalf("said %+v", got)
	}
	corrected := o
	corrected.Supersedes, corrected.Joint = first, scheduler.Light
	second := record(boxes[0].ID, corrected, today+1)
	want.Found = scheduler.Light
	if got = said(t, s, club); len(got) != 2 || got[1] != want && got[0] != want {
		t.Fatalf("after a correction %+v, want %+v", got, want)
	}
	moved := corrected
	moved.Supersedes, moved.On = second, today-1
	third := record(boxes[0].ID, moved, today+1)
	if got = said(t, s, club); len(got) != 1 || got[0].Found != scheduler.Stuck {
		t.Fatalf("after a correction of the day %+v", got)
	}
	back := moved
	back.Supersedes, back.On = third, today
	record(boxes[0].ID, back, today+1)
	if got = said(t, s, club); len(got) != 1 {
		t.Fatalf("what was said came back with the day: %+v", got)
	}

	exported := readClub(t, s, club)
	if all := scheduler.Outcomes(exported); len(all) != 1 || all[0] != got[0] {
		t.Errorf("the club read whole has %+v, want %+v", all, got)
	}
}

// TestTakenBackIsNotHeld: an opening that is taken back was not made.
func TestTakenBackIsNotHeld(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.ReplanAll(ctx, today); return err })
	box := readClub(t, s, club).Apiaries[0].Hives[0].Boxes[0].ID
	o := scheduler.Opening{On: today, Joint: scheduler.Hard, Frames: scheduler.NotTried}
	inClub(t, s, club, func(tx *Tx) error {
		r, err := tx.RecordOpening(ctx, box, o, today)
		if err != nil {
			return err
		}
		o.Supersedes, o.Void = r.New[0], true
		_, err = tx.RecordOpening(ctx, box, o, today)
		return err
	})
	if got := said(t, s, club); len(got) != 0 {
		t.Errorf("said %+v", got)
	}
}

// TestNothingWasSaidBeforeTheFirstPlan: of boxes that no plan ever held.
func TestNothingWasSaidBeforeTheFirstPlan(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.tx.Exec(ctx, `DELETE FROM due`)
		return err
	})
	box := readClub(t, s, club).Apiaries[0].Hives[0].Boxes[0].ID
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.RecordOpening(ctx, box, scheduler.Opening{On: today, Joint: scheduler.Hard, Frames: scheduler.NotTried}, today)
		return err
	})
	if got := said(t, s, club); len(got) != 0 {
		t.Errorf("said %+v", got)
	}
}

// TestForecastsStay: the serving role cannot change what was said.
func TestForecastsStay(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importWhole(t, s)
	for _, table := range []string{"forecast SET hard = 1, stuck = 0", "recalibration SET openings = 7"} {
		err := s.InClub(ctx, club, func(tx *Tx) error { _, err := tx.tx.Exec(ctx, `UPDATE `+table); return err })
		if code(err) != "42501" {
			t.Errorf("update %s: %v", table, err)
		}
	}
	inClub(t, s, club, func(tx *Tx) error {
		for _, step := range []struct {
			since scheduler.Date
			want  int
		}{{today, 0}, {today + 1, 1}, {today + 1, 0}} {
			if n, err := tx.clearForecasts(ctx, step.since); err != nil || n != step.want {
				t.Errorf("cleared %d before %s, want %d: %v", n, step.since, step.want, err)
			}
		}
		return nil
	})
}

// TestRecalibration: it is made of a record that is long enough, holds for four
// weeks, and the odds and days that are planned go by it.
func TestRecalibration(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	fill(t, s, club, 40)
	made := func(day scheduler.Date) scheduler.Recalibration {
		t.Helper()
		if _, _, err := s.ReplanClub(ctx, club, day); err != nil {
			t.Fatal(err)
		}
		return readClub(t, s, club).Recalibration
	}
	if r := made(today + 1); r.Corrects() {
		t.Fatalf("too short a record gave %+v", r)
	}
	fill(t, s, club, 80)
	first := made(today + 2)
	if first.MadeOn != today+2 || first.Openings != 120 || first.Hard.Intercept >= -0.2 {
		t.Fatalf("made %+v", first)
	}
	c := readClub(t, s, club)
	plan := scheduler.PlanClub(c, today+2)
	inClub(t, s, club, func(tx *Tx) error {
		states, err := tx.BoxStates(ctx, 0)
		for i := range states {
			if math.Abs(states[i].Odds-plan.Boxes[i].Odds) > 1e-9 || math.Abs(states[i].Stuck-plan.Boxes[i].Stuck) > 1e-9 {
				t.Errorf("saved %+v, planned %+v", states[i], plan.Boxes[i])
			}
		}
		return err
	})
	fill(t, s, club, 30)
	if r := made(today + 29); r != first {
		t.Errorf("after 27 days %+v, was %+v", r, first)
	}
	if r := made(today + 30); r.MadeOn != today+30 || r.Openings != 150 {
		t.Errorf("after 28 days %+v", r)
	}
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.tx.Exec(ctx, `DELETE FROM forecast`); return err })
	if r := made(today + 58); r.Corrects() {
		t.Errorf("without a record %+v", r)
	}
}

// fill adds openings of long ago, of which 3 in 5 was said and 1 in 5 was hard.
func fill(t *testing.T, s *Store, club int64, n int) {
	t.Helper()
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.tx.Exec(context.Background(), `
			WITH o AS (
				INSERT INTO opening (club_id, id, box_id, on_day, joint, frames, scraped)
				SELECT $1, gen_random_uuid(), (SELECT id FROM box WHERE hive_id IS NOT NULL ORDER BY id LIMIT 1), $2, CASE WHEN i % 5 = 0 THEN 3 ELSE 1 END, -1, 'all'
				  FROM generate_series(1, $3::int) i RETURNING club_id, id)
			INSERT INTO forecast (club_id, opening_id, made_on, hard, stuck, model_hard, model_stuck, openings)
			SELECT club_id, id, $2, 0.6, 0.1, 0.6, 0.1, 3 FROM o`, tx.club, today-500, n)
		if err == nil { // nobody planned upon them
			_, err = tx.tx.Exec(context.Background(), `UPDATE apiary SET rates_from = NULL`)
		}
		return err
	})
}
