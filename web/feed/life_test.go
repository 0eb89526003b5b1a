package feed

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// Over any run of openings, rule changes, moves, cancellations and days going
// by, an identity belongs to one apiary and never comes back, its sequence
// never falls and grows with every change of its day or state, and nothing
// changes by itself.
func TestIdentitiesLast(t *testing.T) {
	parts := int64(0)
	for seed := range stories(4, 150) {
		t.Run(fmt.Sprint("story ", seed), func(t *testing.T) {
			b := newFixture(t, randomClub(3, 3).Example(seed))
			forgetful := b.another(t, b.database)
			_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true})
			story := lives{seen: map[string]event{}, gone: map[string]bool{}}
			for step, deed := range rapid.SliceOfN(deeds(), 12, 12).Example(seed) {
				version := deed.do(t, b)
				testrun.Until(t, "the daemon hears", func() bool { return b.feeds.listener.version(b.club) >= version })
				body := b.calendar(t, token)
				story.follow(t, fmt.Sprintf("step %d, %s", step, deed.name), byGoICal(t, body))
				forgetful.forget()
				if again := forgetful.calendar(t, token); again != body {
					t.Fatalf("step %d, %s: two renders of the same differ\n%s\n%s", step, deed.name, body, again)
				}
			}
			parts += b.feeds.Counts().Parts
			if len(story.seen) == 0 {
				t.Error("no visit ever showed")
			}
		})
	}
	if parts == 0 {
		t.Error("no calendar was made anew in part")
	}
}

// lives follows each identity through a story.
type lives struct {
	seen map[string]event
	gone map[string]bool
}

func (l *lives) follow(t *testing.T, when string, events []event) {
	t.Helper()
	present := map[string]bool{}
	for _, e := range events {
		if present[e.uid] {
			t.Errorf("%s: %s stands there twice", when, e.uid)
		}
		present[e.uid] = true
		if l.gone[e.uid] {
			t.Errorf("%s: %s was gone and is back", when, e.uid)
		}
		was, known := l.seen[e.uid]
		l.seen[e.uid] = e
		if !known {
			continue
		}
		var before, now int
		if _, err := fmt.Sscan(was.sequence+" "+e.sequence, &before, &now); err != nil {
			t.Fatal(err)
		}
		switch {
		case e.place != was.place:
			t.Errorf("%s: %s went from %s to %s", when, e.uid, was.place, e.place)
		case now < before:
			t.Errorf("%s: the sequence of %s fell from %d to %d", when, e.uid, before, now)
		case now == before && (e.on != was.on || e.status != was.status):
			t.Errorf("%s: %s changed from %s, %s to %s, %s within sequence %d", when, e.uid, was.on, was.status, e.on, e.status, now)
		case now > before && e.stamp < was.stamp:
			t.Errorf("%s: the stamp of %s fell from %s to %s", when, e.uid, was.stamp, e.stamp)
		}
	}
	for uid := range l.seen {
		l.gone[uid] = l.gone[uid] || !present[uid]
	}
}

// deed is one thing that happens to a club.
type deed struct {
	name string
	pick int
	days int
	hard scheduler.Difficulty
}

func deeds() *rapid.Generator[deed] {
	return rapid.Custom(func(t *rapid.T) deed {
		return deed{
			rapid.SampledFrom([]string{"open", "open", "rules", "move", "cancel", "days", "days", "finish", "leave out", "carry"}).Draw(t, "deed"),
			rapid.IntRange(0, 1000).Draw(t, "pick"), rapid.IntRange(1, 40).Draw(t, "days"), scheduler.Difficulty(rapid.IntRange(0, 4).Draw(t, "hard")),
		}
	})
}

// do does it and returns the feed version afterwards.
func (d deed) do(t *testing.T, b *fixture) (version int64) {
	t.Helper()
	today := b.today()
	err := b.store.InClub(context.Background(), b.club, func(tx *store.Tx) (err error) {
		ctx := context.Background()
		c, err := tx.Outline(ctx)
		if err != nil {
			return err
		}
		visits, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true, From: today})
		if err != nil || len(visits) == 0 {
			return err
		}
		v := visits[d.pick%len(visits)]
		switch d.name {
		case "open":
			a := &c.Apiaries[d.pick%len(c.Apiaries)]
			h := &a.Hives[d.pick%len(a.Hives)]
			_, err = tx.RecordOpening(ctx, h.Boxes[d.pick%len(h.Boxes)].ID, scheduler.Opening{
				On: today, Joint: d.hard, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart,
			}, today)
		case "rules":
			r := scheduler.DefaultRules()
			r.MinDays, r.NoticeDays = 10+d.days, 5+d.days/2
			r.OddsLimit = 0.05 + float64(d.pick%40)/100
			if _, err = tx.ApplyRules(ctx, store.RulesEdit{Rules: r, AuthorID: b.member}, today); err == nil {
				_, err = tx.ReplanAll(ctx, today)
			}
		case "move":
			_, err = tx.MoveVisit(ctx, v.ID, v.Sequence, today+scheduler.Date(d.days), today)
		case "cancel":
			_, err = tx.CallOffVisit(ctx, v.ID, v.Sequence, today+28, today)
		case "finish":
			_, err = tx.FinishVisit(ctx, v.ID, v.Sequence, today, today)
		case "leave out":
			if len(v.Boxes) > 0 {
				_, err = tx.LeaveBoxOut(ctx, v.ID, v.Sequence, v.Boxes[d.pick%len(v.Boxes)].BoxID, true, today)
			}
		case "carry": // a box to a hive of another apiary
			from, to := &c.Apiaries[d.pick%len(c.Apiaries)], &c.Apiaries[d.days%len(c.Apiaries)]
			if h := &from.Hives[0]; from != to && len(h.Boxes) > 1 {
				_, err = tx.MoveBox(ctx, h.Boxes[0].ID, scheduler.BoxPlace{HiveID: to.Hives[0].ID, Where: scheduler.OnHive, Position: 1, From: today}, today)
			}
		case "days":
			b.clock.set(b.clock.Civil().AddDate(0, 0, d.days))
			_, err = tx.ReplanAll(ctx, b.today())
		}
		return err
	})
	if err != nil && !errors.Is(err, store.ErrVisitChanged) {
		t.Fatalf("%s: %v", d.name, err)
	}
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		version, err = tx.FeedVersion(ctx)
		return err
	})
	return version
}
