package store

import (
	"context"
	"errors"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// TestGuesses: a hive is asked about once, and only its boxes of which nothing else is
// known move to the day of the answer; taken back, all is as it was.
func TestGuesses(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, err := s.CreateClub(ctx, "Old Mill Beekeepers")
	if err != nil {
		t.Fatal(err)
	}
	guessed := scheduler.GuessedDay(today)
	inClub(t, s, club, func(tx *Tx) error {
		records := sampleClub()
		hive := &records.Apiaries[0].Hives[0]
		for i := range hive.Boxes {
			b := &hive.Boxes[i]
			b.SetUpOn, b.GuessedOn = guessed, today
			b.Openings = nil
			if i == 1 { // of which it is known
				b.Openings = []scheduler.Opening{{ID: "6f1c1f0e-3a52-4f3e-9a59-0d6f5b0a7a14", On: guessed, Joint: scheduler.Firm, Scraped: scheduler.ScrapedAll}}
			}
		}
		if _, err := tx.Import(ctx, records); err != nil {
			return err
		}
		_, err := tx.ReplanAll(ctx, today)
		return err
	})
	hive := readClub(t, s, club).Apiaries[0].Hives[0]
	moved := hive.Boxes[2].ID // and with it a first place is kept
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.MoveBox(ctx, moved, scheduler.BoxPlace{From: today - 20, Where: scheduler.OnHive, HiveID: hive.ID, Position: 4}, today)
		return err
	})
	asked := func() (ids []int64) {
		t.Helper()
		var found []HiveGuessed
		inClub(t, s, club, func(tx *Tx) error {
			var b pgx.Batch
			queueGuessed(&b, &found)
			return tx.tx.SendBatch(ctx, &b).Close()
		})
		for _, h := range found {
			ids = append(ids, h.HiveID)
		}
		return ids
	}
	stands := func() (days []scheduler.Date) { // where each box stands since when, and was set up
		t.Helper()
		_, h := readClub(t, s, club).HiveByID(hive.ID)
		for _, b := range h.Boxes {
			days = append(days, b.SetUpOn)
		}
		inClub(t, s, club, func(tx *Tx) error {
			from, err := list[struct {
				Name           string
				SetUp, FromDay scheduler.Date
			}](ctx, tx, `
				SELECT b.name, b.set_up_on AS set_up, p.from_day FROM box b JOIN box_place p ON p.club_id = b.club_id AND p.box_id = b.id AND p.n = 1
				 WHERE b.hive_id = $1 ORDER BY b.id`, hive.ID)
			for _, b := range from {
				if b.FromDay != b.SetUp {
					t.Errorf("box %s was set up on %s and stands there since %s", b.Name, b.SetUp, b.FromDay)
				}
			}
			if err == nil && len(from) != 1 {
				t.Errorf("%d boxes have a first place, want 1", len(from))
			}
			return err
		})
		return days
	}
	if got := asked(); !slices.Equal(got, []int64{hive.ID}) {
		t.Fatalf("hives %v are asked about, want %d", got, hive.ID)
	}
	answer := today - 40
	var was []GuessedBox
	inClub(t, s, club, func(tx *Tx) (err error) {
		was, _, err = tx.AnswerGuess(ctx, hive.ID, answer, today)
		return err
	})
	if want := []GuessedBox{{hive.Boxes[0].ID, guessed}, {hive.Boxes[2].ID, guessed}}; !slices.Equal(was, want) {
		t.Errorf("the answer was for %v, want %v", was, want)
	}
	if got, want := stands(), []scheduler.Date{answer, guessed, answer}; !slices.Equal(got, want) {
		t.Errorf("answered, boxes were set up on %v, want %v", got, want)
	}
	if got := asked(); len(got) != 0 {
		t.Errorf("answered, hives %v are asked about again", got)
	}
	err = s.InClub(ctx, club, func(tx *Tx) error {
		_, _, err := tx.AnswerGuess(ctx, hive.ID, answer, today)
		return err
	})
	if !errors.Is(err, ErrNotFound) {
		t.Errorf("answered twice: %v", err)
	}
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.AskGuessAgain(ctx, hive.ID, was, today); return err })
	if got, want := stands(), []scheduler.Date{guessed, guessed, guessed}; !slices.Equal(got, want) {
		t.Errorf("asked again, boxes were set up on %v, want %v", got, want)
	}
	if got := asked(); !slices.Equal(got, []int64{hive.ID}) {
		t.Errorf("asked again are hives %v", got)
	}
}

// TestAnswersStayBeforeWhatIsKnown: a box that was found shut on a day was set up
// before that, whatever somebody says roughly.
func TestAnswersStayBeforeWhatIsKnown(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	box := readClub(t, s, club).Apiaries[0].Hives[0].Boxes[0]
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.tx.Exec(ctx, `UPDATE box SET guessed_on = $2 WHERE id = $1`, box.ID, today); err != nil {
			return err
		}
		return tx.setGuess(ctx, []GuessedBox{{box.ID, today - 1}}, true)
	})
	got := readClub(t, s, club).Apiaries[0].Hives[0].Boxes[0].SetUpOn
	if want := box.Openings[0].On; got != want {
		t.Errorf("set up on %s, want %s, the day of its first opening", got, want)
	}
}
