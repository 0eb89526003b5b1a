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
	if !strings.Contains(m.Text, "- Larch, R14: hard last time (20 August 2026)") || strings.Contains(m.Text, "- Larch, R15") || strings.Contains(m.Text, "heavy, for two") {
		t.Errorf("a hard box and one without trouble are told as\n%s", m.Text)
	}
}

// A hive called by a number is said with the word, in the line of boxes and in what is
// special, in the reader's language.
func TestNumberedHiveInAMail(t *testing.T) {
	for member, hive := range map[int]string{2: "Hive 35", 1: "Volk 35"} {
		in := reminderOf(member, "coming")
		in.Club.Apiaries[0].Hives[0].Name = "35"
		m, err := Compose(in)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(m.Text, hive+": ") || !strings.Contains(m.Text, "- "+hive+", R14: ") {
			t.Errorf("no %q in\n%s", hive, m.Text)
		}
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

// Of a hive left alone until a day, the next day's visit says nothing.
func TestLeftAloneOnTheEdges(t *testing.T) {
	for on, want := range map[scheduler.Date]bool{
		day(2027, 5, 9): false, day(2027, 5, 10): true, day(2027, 5, 12): true, day(2027, 5, 13): false,
	} {
		in := reminderOf(2, "coming")
		in.Club.Apiaries[0].Hives[1].LeaveAlone[0].From = day(2027, 5, 10)
		in.Club.Apiaries[0].Hives[1].LeaveAlone[0].Until = day(2027, 5, 12)
		in.Plan.Visits[0].On, in.Message.Items[0].VisitOn = on, on
		m, err := Compose(in)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(m.Text, "Leave alone: hive Rowan"); got != want {
			t.Errorf("on %s it is left alone: %t, want %t", on, got, want)
		}
	}
}

// In a long mail the boxes of each hive are numbered from its top.
func TestEachHiveIsNumberedFromItsTop(t *testing.T) {
	m, err := Compose(long(many(0, 8)))
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(m.Text, "\n  1. G"); n != 2 || strings.Contains(m.Text, "\n  5. G") {
		t.Errorf("%d hives begin with 1:\n%s", n, m.Text)
	}
}

// A link that leads to no page leads nowhere.
func TestOnlyPagesAreLinked(t *testing.T) {
	in := reminderOf(2, "coming")
	in.Links.Preferences = "javascript:alert(1)"
	m, err := Compose(in)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(m.HTML, "javascript:") || !strings.Contains(m.HTML, `href="#"`) {
		t.Errorf("the HTML links to a script:\n%s", m.HTML)
	}
}

// One click is for https alone (RFC 8058, 3.1).
func TestNoOneClickOverPlainHTTP(t *testing.T) {
	m, err := Compose(reminderOf(2, "coming"))
	if err != nil {
		t.Fatal(err)
	}
	for address, want := range map[string]bool{"https://hives.example/u?s=u": true, "http://hives.example/u?s=u": false} {
		e := envelope()
		e.UnsubscribeURL = address
		if got := strings.Contains(string(write(t, m, e)), "List-Unsubscribe-Post:"); got != want {
			t.Errorf("%s: one click %t, want %t", address, got, want)
		}
	}
}
