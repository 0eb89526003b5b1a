package scheduler

import (
	"slices"
	"testing"
)

// TestUnwritten: of a done visit those boxes are asked about of which nobody
// wrote down or said whether they were opened.
func TestUnwritten(t *testing.T) {
	on := date("2027-06-08")
	note := func(day Date, by int64) []Opening {
		return []Opening{{ID: "o", On: day, Joint: Light, Frames: NotTried, Scraped: ScrapedAll, By: by}}
	}
	shut := []Opening{{ID: "o", On: on, Joint: Stuck, Frames: NotTried, LeftShut: true, By: 3}}
	for _, tt := range []struct {
		name   string
		boxes  [4][]Opening // of two hives, each from the bottom up
		change func(*Visit)
		want   []int64
		there  []int64
		day    Date
	}{
		{"one of four written down", [4][]Opening{1: note(on, 3)}, nil, []int64{4, 3, 1}, []int64{3}, on},
		{"what stood above came off", [4][]Opening{0: note(on, 3)}, nil, []int64{4, 3}, []int64{3}, on},
		{"but not for one left shut", [4][]Opening{0: shut}, nil, []int64{4, 3, 2}, []int64{3}, on},
		{"but it came apart for another, on the same day", [4][]Opening{0: append(note(on, 2), shut...)}, nil, []int64{4, 3}, []int64{2}, on},
		{"written down on the next day", [4][]Opening{0: note(on+1, 3), 3: note(on, 2)}, nil, []int64{3}, []int64{2, 3}, on + 1},
		{"opened since", [4][]Opening{0: note(on+4, 3), 3: note(on, 2)}, nil, []int64{3}, []int64{2}, on},
		{"opened long before", [4][]Opening{0: note(on-9, 3)}, nil, []int64{4, 3, 2, 1}, []int64{2}, on},
		{"not opened, as was said", [4][]Opening{1: note(on, 3)}, func(v *Visit) { v.NotOpened = []int64{1, 3} }, []int64{4}, []int64{3}, on},
		{"never on the visit", [4][]Opening{0: note(on, 3)}, func(v *Visit) { v.Boxes = v.Boxes[1:] }, []int64{3}, []int64{3}, on},
		{"nobody said that they go", [4][]Opening{0: note(on, 0)}, func(v *Visit) { v.Taken = nil }, []int64{4, 3}, []int64{2, 9}, on},
		{"missed", [4][]Opening{1: note(on, 3)}, func(v *Visit) { v.Status = Missed }, nil, nil, 0},
		{"all written down", [4][]Opening{0: note(on, 3), 2: note(on, 3)}, nil, nil, []int64{3}, on},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a := &Apiary{ID: 5, Hives: []Hive{{ID: 1}, {ID: 2}}}
			for i, openings := range tt.boxes {
				h := &a.Hives[i/2]
				h.Boxes = append(h.Boxes, Box{ID: int64(i + 1), SetUpOn: on - 400, Openings: openings})
			}
			v := Visit{ID: 1, ApiaryID: 5, On: on, Status: Done, Who: []int64{2, 9}, Taken: []int64{2}, Boxes: []VisitBox{{BoxID: 4}, {BoxID: 3}, {BoxID: 2}, {BoxID: 1}}}
			if tt.change != nil {
				tt.change(&v)
			}
			r := DefaultRules()
			got := UnwrittenOf(a, &v, &r, on+1)
			if !slices.Equal(got.Boxes, tt.want) || !slices.Equal(got.There, tt.there) || got.On != tt.day {
				t.Errorf("%+v, want %v of %v on %s", got, tt.want, tt.there, tt.day)
			}
			if late := UnwrittenOf(a, &v, &r, on+Date(r.AnswerDays)+1); len(late.Boxes) > 0 {
				t.Errorf("still asked about: %v", late.Boxes)
			}
		})
	}
}

// TestUnwrittenBoxesWait: while it may still be said whether a box of a done
// visit was opened, its odds alone send nobody; the longest wait does. No word
// is not an opening: afterwards it is planned as if nobody had been there, and
// whoever says that it was not opened has it planned at once.
func TestUnwrittenBoxesWait(t *testing.T) {
	on := date("2027-07-06")
	before := []Opening{opened("2026-06-01", Hard)}
	plan := func(today Date, change func(*Club)) (*Club, *Plan) {
		c := stand(date("2026-05-01"), before, append(slices.Clone(before), opened("2027-07-06", Light)))
		c.Rules.Stages[BuildUp].Required, c.Rules.MaxDays = NothingRequired, 1500
		c.Visits = []Visit{{ID: 7, UID: "u", ApiaryID: 5, On: on, Status: Done, Who: []int64{1}, Boxes: []VisitBox{{BoxID: 1}, {BoxID: 2}}}}
		if change != nil {
			change(c)
		}
		return c, PlanClub(c, today)
	}
	next := func(p *Plan) Date {
		for i := range p.Visits {
			if p.Visits[i].Lists(1) {
				return p.Visits[i].On
			}
		}
		return 0
	}
	c, p := plan(on+1, nil)
	until := on + Date(c.Rules.AnswerDays+1+c.Rules.MoveNotice)
	if got := next(p); got < until || got > until+7 {
		t.Errorf("planned for %s, want %s or up to a week more", got, until)
	}
	if u := p.Unwritten[7]; !slices.Equal(u.Boxes, []int64{1}) {
		t.Errorf("asked about %v", p.Unwritten)
	}
	if b := p.Boxes[0]; !b.Overdue || b.LastOpened == on {
		t.Errorf("no word counts as an opening: %+v", b)
	}
	for _, later := range []Date{2, 7, 8, 9} {
		if _, p := plan(on+later, nil); next(p) != until {
			t.Errorf("%d days after the visit planned for %s, want %s", later, next(p), until)
		}
	}
	if _, p := plan(on+1, func(c *Club) { c.Visits[0].NotOpened = []int64{1} }); next(p) >= until || next(p) < on+1 || len(p.Unwritten) > 0 {
		t.Errorf("said that it was not opened: planned for %s, asked about %v", next(p), p.Unwritten)
	}
	limit := on + 4
	if _, p := plan(on+1, func(c *Club) { c.Rules.MaxDays = int(limit - date("2026-06-01")) }); next(p) > limit {
		t.Errorf("the longest wait ends on %s, planned for %s", limit, next(p))
	}
}
