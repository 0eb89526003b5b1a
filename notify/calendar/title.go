package calendar

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// title is what a narrow cell shows: the place, then what became of the visit
// or whether somebody goes, then how much there is to do.
func (w *writer) title(v *VisitRecord, a *scheduler.Apiary) string {
	place, work := CleanLine(a.Name), text.New("checklist.step.outside")
	if n := len(v.Boxes); n > 0 {
		work = text.New("command.boxes", n)
	}
	if v.Status == scheduler.Done && len(v.Boxes) > 0 {
		work = text.New("calendar.none-opened")
		if opened, _, _ := became(v, a); len(opened) > 0 {
			work = text.New("command.boxes", len(opened))
		}
	}
	switch v.Status {
	case scheduler.Tentative:
		return w.say.Say("calendar.title-tentative", place, work)
	case scheduler.Unanswered:
		return w.say.Say("calendar.title-unanswered", place, work)
	case scheduler.Done:
		return w.say.Say("calendar.title-done", place, work)
	case scheduler.Missed:
		return w.say.Say("calendar.title-missed", place, work)
	case scheduler.Cancelled:
		return w.say.Say("calendar.title-cancelled", place)
	}
	if !v.IsTaken() {
		return w.say.Say("calendar.title-nobody", place, work)
	}
	return w.say.Say("calendar.title", place, work)
}

// look is the colour and the categories of an entry: what is over differs from
// what is to come in both, since clients show the one or the other.
func (w *writer) look(v *VisitRecord) (colour string, categories []string) {
	state := ""
	switch v.Status {
	case scheduler.Unanswered:
		colour, state = "orange", w.say.Say("calendar.category-unanswered")
	case scheduler.Done:
		colour, state = "darkseagreen", w.say.Say("calendar.category-done")
	case scheduler.Missed:
		colour, state = "indianred", w.say.Say("calendar.category-missed")
	case scheduler.Cancelled:
		colour, state = "gray", w.say.Say("calendar.category-cancelled")
	}
	if state != "" {
		return colour, []string{state}
	}
	categories = []string{w.say.Say("calendar.category-visit")}
	if len(v.Boxes) > 0 {
		categories = append(categories, w.say.Say("calendar.category-opening"))
	}
	switch {
	case v.Status == scheduler.Tentative:
		return "tan", categories
	case !v.IsTaken():
		return "tomato", categories
	}
	return "goldenrod", categories
}
