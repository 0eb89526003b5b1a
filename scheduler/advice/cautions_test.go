package advice

import (
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
)

// TestCautionsOnTop: which dangers matter is common practice, no source.
func TestCautionsOnTop(t *testing.T) {
	keys := func(cs []Caution) []string {
		out := []string{}
		for _, c := range cs {
			out = append(out, strings.TrimPrefix(c.Key, "caution."))
		}
		return out
	}
	shallow := func(c *scheduler.Club) *scheduler.Box { // the top box, as light as they come
		b := &c.Apiaries[0].Hives[0].Boxes[2]
		b.Openings[0].LeftShut = false
		return b
	}
	for _, tc := range []struct {
		name   string
		stage  scheduler.Stage
		change func(*scheduler.Club, *scheduler.Visit)
		want   []string
	}{
		{"left shut last time, and heavy", scheduler.BuildUp, nil, []string{"left-shut", "lifting"}},
		{"full supers in the flow", scheduler.Flow, func(c *scheduler.Club, _ *scheduler.Visit) { shallow(c) }, []string{"lifting", "alone"}},
		{"with two", scheduler.Flow, func(c *scheduler.Club, v *scheduler.Visit) { shallow(c); v.Who = []int64{1, 2} }, []string{"lifting", "stings"}},
		{"a new single hive in spring", scheduler.BuildUp, func(_ *scheduler.Club, v *scheduler.Visit) { v.Boxes, v.Who = v.Boxes[1:], nil }, []string{"stings", "brittle"}},
		{"alone and far off", scheduler.BuildUp, func(_ *scheduler.Club, v *scheduler.Visit) { v.Boxes = v.Boxes[1:] }, []string{"alone", "stings"}},
		{"alone an hour and a half away", scheduler.BuildUp, func(c *scheduler.Club, v *scheduler.Visit) {
			way := 1.5
			c.Apiaries[0].TravelHours, v.Boxes = &way, v.Boxes[1:]
		}, []string{"alone", "stings"}},
		{"alone in one's own garden", scheduler.BuildUp, func(c *scheduler.Club, v *scheduler.Visit) {
			home := 0.0
			c.Apiaries[0].TravelHours, v.Boxes = &home, v.Boxes[1:]
		}, []string{"stings", "brittle"}},
		{"late summer", scheduler.LateSummer, func(_ *scheduler.Club, v *scheduler.Visit) { v.Boxes, v.Who = v.Boxes[1:], nil }, []string{"fire", "robbing"}},
		{"brood looked wrong", scheduler.Flow, func(c *scheduler.Club, _ *scheduler.Visit) {
			shallow(c).Openings[0].Condition = []scheduler.Condition{scheduler.BroodSuspect}
		}, []string{"brood", "lifting"}},
		{"at a standstill", scheduler.Flow, func(c *scheduler.Club, v *scheduler.Visit) {
			c.Apiaries[0].Standstill = []scheduler.Period{{From: v.On}}
		}, []string{"order", "left-shut"}},
		{"nothing opened in winter", scheduler.Winter, func(_ *scheduler.Club, v *scheduler.Visit) { v.Boxes, v.Who = nil, nil }, []string{}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c, v := handClub(), springVisit()
			if tc.change != nil {
				tc.change(c, v)
			}
			advice := Cautions(c, v, tc.stage, handClub().Members[0].ID)
			if got := keys(advice.Top); !slices.Equal(got, tc.want) {
				t.Errorf("on top %v, want %v", got, tc.want)
			}
			for _, k := range advice.All {
				if about := strings.TrimPrefix(k.Key, "caution."); !k.Matters && (about == "order" || about == "brood" || about == "left-shut") {
					t.Errorf("the full list says %q, which is not so here", k.Key)
				}
			}
			all := strings.Join(keys(advice.All), " ")
			for _, k := range []string{"stings", "fire", "lifting", "alone", "treatment", "law", "who-decides"} {
				if !strings.Contains(all, k) {
					t.Errorf("the full list %q lacks %q", all, k)
				}
			}
		})
	}
}

// TestLiftingCautionNamesTheWorstBox: of the boxes that come off.
func TestLiftingCautionNamesTheWorstBox(t *testing.T) {
	c, v := handClub(), springVisit()
	medium, shallow := &c.Apiaries[0].Hives[0].Boxes[1], &c.Apiaries[0].Hives[0].Boxes[2]
	for range 2 { // whichever stands above
		for _, k := range Cautions(c, v, scheduler.BuildUp, 0).All {
			if k.Key == "caution.lifting" && !strings.Contains(english.Tell(k.Say), "R15") {
				t.Errorf("%s is on top, and the list says %q", shallow.Name, k.Say)
			}
		}
		*medium, *shallow = *shallow, *medium
	}
}

// Where several hives are opened, or another hive has a box of the same mark, the caution
// names the hive as well.
func TestLiftingCautionNamesTheHive(t *testing.T) {
	c, all := handClub(), springVisit()
	larch := springVisit()
	larch.Boxes = slices.DeleteFunc(larch.Boxes, func(b scheduler.VisitBox) bool {
		h, _ := c.Apiaries[0].Box(b.BoxID)
		return h.Name != "Larch"
	})
	says := func(v *scheduler.Visit, want string) {
		t.Helper()
		said := ""
		for _, k := range Cautions(c, v, scheduler.BuildUp, 0).All {
			if k.Key == "caution.lifting" {
				said = english.Tell(k.Say)
			}
		}
		if !strings.HasPrefix(said, want) {
			t.Errorf("says %q, want %q", said, want)
		}
	}
	says(larch, "Heavy: R15: up to")
	says(all, "Heavy: R15 of Larch: up to")
	c.Apiaries[0].Hives[2].Boxes[0].Name = "R15"
	says(larch, "Heavy: R15 of Larch: up to")
}

// TestCautionsDefer: the list hands over to whoever has the say, and never
// tells anybody to force a box.
func TestCautionsDefer(t *testing.T) {
	say := ""
	for _, c := range Cautions(handClub(), springVisit(), scheduler.LateSummer, 0).All {
		say += english.Tell(c.Say) + "\n"
	}
	for _, who := range []string{"physician", "inspector", "vet", "local law", "emergency services", "fire ban", "Never force it", "label"} {
		if !strings.Contains(say, who) {
			t.Errorf("the cautions never mention %q", who)
		}
	}
}

// TestAloneIsSaidToWhoeverGoes: "you" only to them.
func TestAloneIsSaidToWhoeverGoes(t *testing.T) {
	c, v := handClub(), springVisit()
	goer := v.Who[0]
	for reader, want := range map[int64]string{goer: "caution.alone", goer + 1: "caution.alone-any", 0: "caution.alone-any"} {
		top := Cautions(c, v, scheduler.Flow, reader).All
		i := slices.IndexFunc(top, func(k Caution) bool { return strings.HasPrefix(k.Key, "caution.alone") })
		if i < 0 || top[i].Key != want || !top[i].Matters {
			t.Errorf("member %d, where %d goes, is told %+v; want %s", reader, goer, top, want)
		}
	}
}
