package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/store"
)

const openingShows = "an opening shows in the calendar of a club of 300 apiaries"

// opening records openings of boxes of the next visits, each at another
// apiary, and asks for the club's calendar until it has changed.
func opening(ctx context.Context, b *bed, t *table) error {
	if !t.wants(openingShows) {
		return nil
	}
	id, err := b.nextClub(ctx)
	if err != nil {
		return err
	}
	c := club{id: id, name: "The Long Valley", apiaries: 300, members: 60}
	if err := b.fill(ctx, c); err != nil {
		return err
	}
	if err := b.replan(ctx, c.id, c.apiaries, today); err != nil {
		return err
	}
	path := "/calendar/" + c.token(0) + "/visits.ics" // the organiser's is the club's
	tag := b.get(ctx, path).Header().Get("ETag")
	var took []time.Duration
	unseen := 0
	for a := range c.apiaries {
		box, err := b.boxOfNextVisit(ctx, c.apiary(a))
		if errors.Is(err, pgx.ErrNoRows) {
			continue
		}
		if err != nil {
			return err
		}
		began := time.Now()
		err = b.store.InClub(ctx, c.id, func(tx *store.Tx) error {
			_, err := tx.RecordOpening(ctx, box, scheduler.Opening{
				On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried, Condition: []scheduler.Condition{scheduler.LugBroken},
			}, today)
			return err
		})
		if err != nil {
			return err
		}
		now := tag
		for now == tag && time.Since(began) < 5*time.Second {
			now = b.get(ctx, path, "If-None-Match", tag).Header().Get("ETag")
		}
		if now == tag {
			unseen++
			continue
		}
		took, tag = append(took, time.Since(began)), now
	}
	if len(took) < 100 {
		return fmt.Errorf("%d openings showed", len(took))
	}
	slices.Sort(took)
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	t.add(row{
		what: openingShows, against: "recorded, committed, asked for until it is there", got: ms(took[len(took)*99/100]), unit: "ms", limit: 50,
		note: fmt.Sprintf("99th of 100, of %d; half within %.0f ms; %d changed nothing that it says", len(took), ms(took[len(took)/2]), unseen),
	})
	return nil
}

// nextClub is a free id.
func (b *bed) nextClub(ctx context.Context) (id int64, err error) {
	err = b.owner.QueryRow(ctx, `SELECT max(id) + 1 FROM club`).Scan(&id)
	return id, err
}

// boxOfNextVisit is a box of the next visit at an apiary that calendars show.
func (b *bed) boxOfNextVisit(ctx context.Context, apiary int64) (box int64, err error) {
	err = b.owner.QueryRow(ctx, `
		SELECT vb.box_id FROM visit v JOIN visit_box vb ON vb.club_id = v.club_id AND vb.visit_id = v.id
		 WHERE v.apiary_id = $1 AND v.on_day BETWEEN $2 AND $2 + 50 AND v.status IN ('tentative', 'confirmed')
		 ORDER BY v.on_day, vb.n LIMIT 1`, apiary, today.At(0, time.UTC)).Scan(&box)
	return box, err
}
