package advice

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
)

func partsSaid(needs []PartNeed) []string {
	out := []string{}
	for _, n := range needs {
		out = append(out, fmt.Sprintf("%d %s", n.Count, n.Part))
	}
	return out
}

func TestPartsToBring(t *testing.T) {
	boxes := func(c *scheduler.Club) []scheduler.Box { return c.Apiaries[0].Hives[0].Boxes }
	for _, tc := range []struct {
		name   string
		stage  scheduler.Stage
		change func(*scheduler.Club, *scheduler.Visit)
		want   []string
	}{
		{"warped with a narrow gap is one box", scheduler.BuildUp, nil, []string{"1 box", "1 frame-rest", "1 empty-box", "1 tub"}},
		{"two boxes with broken frames", scheduler.BuildUp, func(c *scheduler.Club, _ *scheduler.Visit) {
			boxes(c)[0].Openings[0].Condition = []scheduler.Condition{scheduler.LugBroken}
			boxes(c)[0].Openings[0].Gaps = nil
			boxes(c)[1].Openings[0].Condition = []scheduler.Condition{scheduler.FrameBroken, scheduler.LugBroken}
		}, []string{"2 frame", "1 empty-box", "1 tub"}},
		{"repaired since", scheduler.BuildUp, func(c *scheduler.Club, v *scheduler.Visit) { boxes(c)[0].Repaired = []scheduler.Date{v.On - 1} }, []string{"1 empty-box", "1 tub"}},
		{"only the last opening asks", scheduler.BuildUp, func(c *scheduler.Club, v *scheduler.Visit) {
			boxes(c)[0].Openings = append(boxes(c)[0].Openings, scheduler.Opening{On: v.On - 30, Joint: scheduler.Light})
		}, []string{"1 empty-box", "1 tub"}},
		{"boxes that stay shut ask for nothing", scheduler.BuildUp, func(_ *scheduler.Club, v *scheduler.Visit) { v.Boxes = v.Boxes[1:] }, []string{"1 tub"}},
		{"nothing opened, nothing to bring", scheduler.Autumn, func(_ *scheduler.Club, v *scheduler.Visit) { v.Boxes = nil }, []string{}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c, v := handClub(), springVisit()
			if tc.change != nil {
				tc.change(c, v)
			}
			if got := partsSaid(PartsToBring(c, v, tc.stage)); !slices.Equal(got, tc.want) {
				t.Errorf("got %v, want %v", got, tc.want)
			}
		})
	}
}

func TestRepairList(t *testing.T) {
	c := handClub()
	larch := c.Apiaries[0].Hives[0].Boxes
	larch[1].Openings = append(larch[1].Openings,
		scheduler.Opening{On: scheduler.NewDate(2026, 9, 1), Joint: scheduler.Stuck, Frames: scheduler.Stuck, Condition: []scheduler.Condition{scheduler.LugBroken}},
		scheduler.Opening{On: scheduler.NewDate(2026, 10, 1), Joint: scheduler.Light, Frames: scheduler.Stuck})
	c.Spare = []scheduler.Box{{ID: 90, Name: "old", Openings: []scheduler.Opening{{On: scheduler.NewDate(2026, 6, 1), Condition: []scheduler.Condition{scheduler.Rot, scheduler.WaxMoth}}}}}
	list, parts := RepairList(c, scheduler.NewDate(2026, 1, 1), scheduler.NewDate(2026, 12, 31))
	got := []string{}
	for _, r := range list {
		for _, f := range r.Found {
			got = append(got, fmt.Sprintf("%d/%d %s %s: %s", r.HiveID, r.BoxID, f.On.Format("01-02"), english.Tell(f.What), english.Tell(f.Cure)))
		}
	}
	want := []string{
		"20/31 05-03 frame rest worn or bent: renew the frame rest",
		"20/31 05-03 warped: swap it for a sound box and repair it in winter",
		"20/31 05-03 end bar to box 4 mm (sealed: too narrow, bees glue it): take the box in for the winter bench: square it up or replace it",
		"20/32 09-01 frame lug broken: swap the frame and shake the bees off first",
		"20/32 10-01 a frame was stuck: look for lugs and top bars that came away, and swap those frames",
		"0/90 06-01 rot: swap it for a sound box and repair it in winter",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if got, want := partsSaid(parts), []string{"2 box", "1 frame", "1 frame-rest"}; !slices.Equal(got, want) {
		t.Errorf("parts %v, want %v", got, want)
	}

	// A later measurement that was right takes a gap off the list; the last day asked for counts.
	righted := handClub()
	box := &righted.Apiaries[0].Hives[0].Boxes[0]
	box.Openings[0].Condition = nil
	box.Openings = append(box.Openings, scheduler.Opening{On: scheduler.NewDate(2026, 12, 31), Joint: scheduler.Light, Frames: scheduler.Light, Gaps: []scheduler.Gap{{At: scheduler.EndBarToBox, MM: 8.5}}})
	for until, want := range map[scheduler.Date]int{scheduler.NewDate(2026, 12, 30): 1, scheduler.NewDate(2026, 12, 31): 0} {
		if list, _ := RepairList(righted, scheduler.NewDate(2026, 1, 1), until); len(list) != want {
			t.Errorf("until %s: %+v, want %d boxes", until, list, want)
		}
	}

	for name, tc := range map[string]struct {
		change func()
		box    int64
	}{
		"a repair takes it off the list": {func() { larch[0].Repaired = []scheduler.Date{scheduler.NewDate(2026, 11, 1)} }, 31},
		"another year is another list":   {func() { larch[1].Openings = larch[1].Openings[:1] }, 32},
		"a retired box is nobody's work": {func() { c.Spare[0].RetiredOn = scheduler.NewDate(2026, 12, 1) }, 90},
	} {
		tc.change()
		list, _ := RepairList(c, scheduler.NewDate(2026, 1, 1), scheduler.NewDate(2026, 12, 31))
		if slices.ContainsFunc(list, func(r Repair) bool { return r.BoxID == tc.box }) {
			t.Errorf("%s: box %d is still on it", name, tc.box)
		}
	}
}
