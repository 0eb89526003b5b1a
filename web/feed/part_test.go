package feed

import (
	"context"
	"errors"
	"slices"
	"testing"

	"pryday/scheduler"
	"pryday/store"
)

// Kept entries hold on their day, for their link, while nothing changed but apiaries.
func TestWhatStillHolds(t *testing.T) {
	day := scheduler.NewDate(2027, 5, 3)
	for _, tt := range []struct {
		name   string
		change func(e *entry, link *store.FeedLink)
		holds  bool
	}{
		{"apiaries changed", func(*entry, *store.FeedLink) {}, true},
		{"the day after", func(e *entry, _ *store.FeedLink) { e.day-- }, false},
		{"another link's", func(e *entry, _ *store.FeedLink) { e.link++ }, false},
		{"the whole club changed", func(_ *entry, link *store.FeedLink) { link.Whole = 6 }, false},
		{"as many as are read", func(e *entry, _ *store.FeedLink) { e.kept.full = true }, false},
		{"nothing kept", func(e *entry, _ *store.FeedLink) { e.kept = nil }, false},
		{"newer than the records", func(e *entry, _ *store.FeedLink) { e.version = 7 }, false},
	} {
		e, link := &entry{kept: &kept{}, link: 9, day: day, version: 5}, &store.FeedLink{Version: 6, Whole: 3, Changed: []int64{4}}
		tt.change(e, link)
		p := e.partOf(&entry{link: 9, day: day}, link)
		if (p != nil) != tt.holds || p != nil && (!slices.Equal(p.apiaries, link.Changed) || p.kept != e.kept) {
			t.Errorf("%s: %+v, want it to hold: %t", tt.name, p, tt.holds)
		}
	}
}

// A box that has moved on to an apiary which was not read has a name, too: the
// calendar is made whole. One that stands nowhere has none to give.
func TestBoxesFromElsewhereHaveNames(t *testing.T) {
	b := newFixture(t, records())
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		all, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true})
		if err != nil {
			return err
		}
		at := slices.IndexFunc(all, func(v store.VisitRecord) bool { return v.ApiaryID != all[0].ApiaryID && len(v.Boxes) > 0 })
		if at < 0 {
			t.Fatalf("one apiary alone has visits: %+v", all)
		}
		elsewhere, visit := all[at].Boxes[0].BoxID, all[0]
		club, _, err := tx.FeedClub(ctx, 0, []store.VisitRecord{visit}, b.today())
		if err != nil {
			return err
		}
		for box, want := range map[int64]error{visit.Boxes[0].BoxID: nil, elsewhere: errWhole, 1 << 40: nil} {
			v := visit
			v.Boxes = append(slices.Clone(visit.Boxes), scheduler.VisitBox{BoxID: box})
			if err := (&part{}).check(ctx, tx, club, []store.VisitRecord{v}); !errors.Is(err, want) {
				t.Errorf("box %d: %v, want %v", box, err, want)
			}
		}
		return nil
	})
}
