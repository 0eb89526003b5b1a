package calendar

import (
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// maxBoxesTold bounds the boxes named in one entry.
const maxBoxesTold = 24

// describe writes the plain text of an entry: who goes, the visit's page, the
// boxes with the reasons, what to bring and two cautions.
func (w *writer) describe(v *VisitRecord, a *scheduler.Apiary, page string) string {
	lines := w.state(v)
	if page != "" {
		lines = append(lines, w.say.Say("calendar.page", page))
	}
	switch v.Status {
	case scheduler.Cancelled:
	case scheduler.Done:
		lines = append(lines, w.became(v, a)...)
	default:
		lines = append(lines, w.boxes(v)...)
	}
	if v.Status.Open() {
		lines = append(lines, w.cautions(v, a)...)
	}
	return strings.Join(lines, "\n")
}

// state says who goes, and what became of a visit that is over. Who goes is
// who said so; whoever is expected only is named as that.
func (w *writer) state(v *VisitRecord) []string {
	going, expected := w.people(v.Taken), w.people(v.Who)
	switch v.Status {
	case scheduler.Cancelled:
		return []string{w.say.Say("calendar.cancelled")}
	case scheduler.Unanswered:
		return w.past(w.say.Say("calendar.unanswered"), going)
	case scheduler.Done:
		return w.past(w.say.Say("calendar.done"), going)
	case scheduler.Missed:
		return w.past(w.say.Say("calendar.missed"), going)
	}
	switch {
	case len(going) > 0:
		return []string{w.say.Say("calendar.who-going", w.say.List(going))}
	case len(expected) > 0:
		return []string{w.say.Say("calendar.who-expected", w.say.List(expected))}
	}
	return []string{w.say.Say("calendar.who-nobody")}
}

// past says what became of a visit, and who had said that they go.
func (w *writer) past(became string, going []string) []string {
	if len(going) == 0 {
		return []string{became}
	}
	return []string{became, w.say.Say("calendar.who-went", w.say.List(going))}
}

func (w *writer) people(ids []int64) (out []string) {
	for _, id := range ids {
		if name := CleanLine(w.names.Member(id)); name != "" {
			out = append(out, name)
		}
	}
	return out
}

// boxes lists the boxes of a visit hive by hive, each hive from the top, and
// then why they are opened: a reason that several share is said once.
func (w *writer) boxes(v *VisitRecord) []string {
	told := v.Boxes[:min(len(v.Boxes), maxBoxesTold)]
	var lines []string
	for i := 0; i < len(told); {
		hive, _ := w.names.Box(told[i].BoxID)
		var boxes []string
		for ; i < len(told); i++ {
			h, box := w.names.Box(told[i].BoxID)
			if h != hive {
				break
			}
			boxes = append(boxes, CleanLine(box)) // a name cannot pass for a line of its own
		}
		lines = append(lines, w.say.Say("calendar.hive", CleanLine(hive), strings.Join(boxes, ", ")))
	}
	if n := len(v.Boxes) - len(told); n > 0 {
		lines = append(lines, w.say.Say("calendar.more", n))
	}
	return append(lines, w.reasons(told)...)
}

// because is one reason with the boxes that share it.
type because struct {
	why    string
	boxes  []string
	chance float64 // the highest, of being hard to open; 0 where the reason tells of none
}

func (w *writer) reasons(boxes []scheduler.VisitBox) (lines []string) {
	var all []because
	first, several := make(map[string]int64, len(boxes)), map[string]bool{}
	for _, b := range boxes {
		_, box := w.names.Box(b.BoxID)
		if id, ok := first[box]; ok && id != b.BoxID {
			several[box] = true // on different hives
		}
		first[box] = b.BoxID
	}
	for _, b := range boxes {
		reason := b.Reason.Text(b.Odds)
		if reason.IsZero() {
			continue
		}
		why, i := w.say.Tell(reason), 0
		for i < len(all) && all[i].why != why {
			i++
		}
		if i == len(all) {
			all = append(all, because{why: why})
		}
		hive, box := w.names.Box(b.BoxID)
		name := CleanLine(box)
		if several[box] { // which of them?
			name = w.say.Say("lift.box-of", name, text.Hive(CleanLine(hive)))
		}
		all[i].boxes = append(all[i].boxes, name)
		if b.Reason == scheduler.BecauseOdds {
			all[i].chance = max(all[i].chance, b.Odds)
		}
	}
	for _, r := range all {
		lines = append(lines, w.reason(r, len(r.boxes) == len(boxes)))
	}
	return lines
}

// reason says why boxes are opened; what goes for every box of the visit names
// none.
func (w *writer) reason(r because, ofAll bool) string {
	why := text.New("calendar.why", r.why)
	switch {
	case r.chance > 0 && len(r.boxes) == 1:
		why = text.New("calendar.why-odds", r.why, text.Chance(r.chance))
	case r.chance > 0:
		why = text.New("calendar.why-odds-most", r.why, text.Chance(r.chance))
	}
	switch {
	case len(r.boxes) == 1:
		return w.say.Say("calendar.box", r.boxes[0], why)
	case ofAll:
		return w.say.Say("calendar.every-box", why)
	}
	return w.say.Say("calendar.some-boxes", w.say.List(r.boxes), why)
}

// cautions says what to bring and at most two cautions that matter.
func (w *writer) cautions(v *VisitRecord, a *scheduler.Apiary) []string {
	stage := scheduler.NewSeason(a.Place(), &w.club.Rules).Stage(v.On)
	lines := []string{w.say.Say("calendar.bring", advice.BringText(w.club, &v.Visit, stage))}
	for _, c := range advice.Cautions(w.club, &v.Visit, stage, 0).Top {
		lines = append(lines, w.say.Say("calendar.care", c.Say))
	}
	return lines
}
