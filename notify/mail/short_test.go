package mail

import (
	"strings"
	"testing"

	"pryday/scheduler"
)

// A short mail says what is special, and of that only what is.
func TestOnlyWhatIsSpecial(t *testing.T) {
	in := reminderOf(2, "coming")
	light := &in.Club.Apiaries[0].Hives[0].Boxes[1]
	light.Kind, light.Openings[0].Gaps = "half", nil
	in.Club.Kinds = append(in.Club.Kinds, scheduler.BoxKind{Name: "half", DepthMM: 100, EmptyKg: 2, FullKg: 6, Frames: 8})
	m, err := Compose(in)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(m.Text, "- Larch, R14: hard last time (20 August 2026)") || strings.Contains(m.Text, "- Larch, R15") {
		t.Errorf("a hard box and one without trouble are told as\n%s", m.Text)
	}
}

// Of overdue boxes, the one that waits longest is told of.
func TestLongestOverdue(t *testing.T) {
	in := reminderOf(0, "overdue")
	in.Message.Items[0].BoxIDs = []int64{41, 43, 42}
	in.Plan.Boxes = append(in.Plan.Boxes,
		scheduler.BoxState{BoxID: 41, ApiaryID: 21, HiveID: 31, Due: today - 3, Odds: 0.2, Overdue: true},
		scheduler.BoxState{BoxID: 42, ApiaryID: 21, HiveID: 31, Due: today - 90, Odds: 0.2, Overdue: true})
	m, err := Compose(in)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(m.Text, "* Overdue: Larch: R14, R15; Rowan: B2\n* R15: 90 days overdue") {
		t.Errorf("three overdue boxes are told as\n%s", m.Text)
	}
}
