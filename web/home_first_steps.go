package web

import (
	"fmt"

	"pryday/scheduler"
)

// firstStep is one step from nothing to the first visit in a calendar.
type firstStep struct {
	Done bool
	Text string
	Why  string
	Path string
	Link string
}

// firstSteps leads a new club to its first visit; nil once it has visits.
func (rec *homeRecords) firstSteps(who *visitor) []firstStep {
	if len(rec.visits) > 0 || who.Role != scheduler.Organiser {
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
		{apiaries > 0, "Say where your hives stand", "Latitude and height above the sea decide when boxes may be opened.", "/apiaries/new", "Add an apiary"},
		{hives > 0 && boxes > 0, "Draw the first stack", "How many boxes, of which kind, and when they were last open.", hivePath, "Add a hive with its boxes"},
		{false, "Put the visits into your calendar", "One address, and every change arrives by itself.", "/links", "Get a calendar address"},
		{false, "Invite who goes with you", "Two people lift what one cannot.", "/members", "Invite somebody"},
	}
}
