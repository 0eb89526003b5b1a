package web

import (
	"fmt"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// firstStep is one step from nothing to the first visit in a calendar.
type firstStep struct {
	Done bool
	Text text.Text
	Why  text.Text
	Path string
	Link text.Text
}

// firstSteps leads a new club to its first visit; nil once it has visits.
func (rec *homeRecords) firstSteps(who *visitor) []firstStep {
	if rec.open.All > 0 || who.Role != scheduler.Organiser {
		return nil
	}
	apiaries, hives, boxes := len(rec.club.Apiaries), 0, 0
	var first, bare int64
	for _, c := range rec.counts {
		hives, boxes = hives+c.Hives, boxes+c.Boxes
		if first == 0 {
			first = c.ID
		}
		if bare == 0 && c.Boxes == 0 {
			bare = c.ID
		}
	}
	hivePath := "/apiaries/new"
	if bare != 0 {
		hivePath = fmt.Sprintf("/apiary/%d/hives", bare)
	} else if first != 0 {
		hivePath = fmt.Sprintf("/apiary/%d/hives", first)
	}
	return []firstStep{
		{apiaries > 0, text.New("page.home.begin-apiary"), text.New("page.home.begin-apiary-why"), "/apiaries/new", text.New("page.apiaries.add")},
		{hives > 0 && boxes > 0, text.New("page.home.begin-hives"), text.New("page.home.begin-hives-why"), hivePath, text.New("page.home.begin-hives-do")},
		{false, text.New("page.home.begin-calendar"), text.New("page.home.begin-calendar-why"), "/links", text.New("button.calendars")},
		{false, text.New("page.home.begin-people"), text.New("page.home.begin-people-why"), "/members", text.New("page.members.invite")},
	}
}
