package mail

import (
	"strings"
	"testing"

	"pryday/scheduler"
)

// What a mail says of a seal and the chance beside it do not contradict each
// other: a box with a small chance of a hard opening is not called hard.
func TestReasonsAgreeWithTheirNumbers(t *testing.T) {
	hard := map[string]string{"": "getting hard", "de": "wird langsam zu fest"}
	low := map[string]string{"": "left longer, its seal gets hard to break", "de": "bleibt sie länger zu, wird die Verkittung zu fest"}
	for language := range hard {
		for _, tc := range []struct {
			odds float64
			low  bool
			says map[string]string
		}{
			{0.001, true, map[string]string{"": "gets hard to break.", "de": "wird die Verkittung zu fest."}}, // too small to be said
			{1. / 45, true, map[string]string{"": "a 1 in 45 chance that it is hard to open", "de": "in 1 von 45 Fällen geht sie schwer auf"}},
			{0.09, true, map[string]string{"": "a 1 in 11 chance", "de": "in 1 von 11 Fällen"}},
			{0.1, false, map[string]string{"": "a 1 in 10 chance", "de": "in 1 von 10 Fällen"}},
			{0.2, false, map[string]string{"": "a 1 in 5 chance", "de": "in 1 von 5 Fällen"}},
			{0.9, false, map[string]string{"": "a 9 in 10 chance", "de": "in 9 von 10 Fällen"}},
		} {
			in := reminderOf(0, "coming")
			in.Member.Language = language
			r := newReminder(&in)
			box := scheduler.VisitBox{Due: in.Message.On + 5, Reason: scheduler.BecauseOdds, Odds: tc.odds}
			said := r.say.Tell(box.Why(r.today, true))
			if strings.Contains(said, hard[language]) == tc.low || strings.Contains(said, low[language]) != tc.low || !strings.Contains(said, tc.says[language]) {
				t.Errorf("%q, odds %.3f: %q", language, tc.odds, said)
			}
		}
	}
}

// Of two openings on one day the harder is the last time, in every kind of mail
// and in whatever order they were written down.
func TestLastTimeIsTheHarderOfItsDay(t *testing.T) {
	on := day(2027, 3, 30)
	stuck := scheduler.Opening{ID: "s", On: on, Joint: scheduler.Stuck, Frames: scheduler.NotTried}
	light := scheduler.Opening{ID: "l", On: on, Joint: scheduler.Light, Frames: scheduler.Light}
	for _, openings := range [][]scheduler.Opening{{stuck, light}, {light, stuck}} {
		for name, said := range map[string]struct {
			in   Input
			want string
		}{
			"short": {reminderOf(2, "coming"), "Larch, R14: stuck last time (30 March 2027)"},
			"long":  {long(reminderOf(2, "coming")), "Last time, 30 March 2027: stuck."},
		} {
			said.in.Club.Apiaries[0].Hives[0].Boxes[0].Openings = openings
			m, err := Compose(said.in)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(strings.Join(strings.Fields(m.Text), " "), said.want) {
				t.Errorf("%s, first %s: want %q in\n%s", name, openings[0].ID, said.want, m.Text)
			}
		}
	}
}
