package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// TestMovedPastWhatTheRulesAskFor: who moves a visit past the last day on which the
// rules let its boxes wait hears which these are, before and after, and decides.
func TestMovedPastWhatTheRulesAskFor(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	b, path := c.as("Brida"), visitPath(v.UID)
	limits := scheduler.HardLimits(c.club(), &v, today)
	if len(limits) == 0 || limits[0].On <= v.On {
		t.Fatalf("the visit on %s has the limits %v", v.On, limits)
	}
	by := limits[0].On
	named := boxesBy(c.club(), limits)[by]
	en, de := text.In("en", ""), text.In("de", "")
	move := func(to scheduler.Date, more ...string) *answer {
		t.Helper()
		now := c.visitByUID(v.UID)
		form := fields(append([]string{"sequence", fmt.Sprint(now.Sequence), "to", to.String()}, more...)...)
		if more == nil {
			return b.post(path+"/move", form)
		}
		return b.follow(path+"/move", form)
	}
	if got := move(by); got.status != http.StatusSeeOther {
		t.Errorf("its last day: %d %s", got.status, got.text())
	}
	b.get(path).says(http.StatusOK, en.Say("page.visit.days-late", by))

	late := by + 2
	says := en.Say("page.doubt.late", text.Full(late), named, by)
	move(late).says(http.StatusUnprocessableEntity, says, "Put the visit there all the same?")
	if now := c.visitByUID(v.UID); now.On != by {
		t.Errorf("it moved to %s before anybody was sure", now.On)
	}
	move(late, "sure", "yes").says(http.StatusOK, "stays there", says, "Put it back on")
	if now := c.visitByUID(v.UID); now.On != late {
		t.Errorf("it is on %s, want %s", now.On, late)
	}
	move(by, "sure", "yes")
	c.speaks("Brida", "de")
	says = de.Say("page.doubt.late", text.Full(late), named, by)
	move(late).says(http.StatusUnprocessableEntity, says, "Den Besuch trotzdem auf diesen Tag legen?").inGerman("Quarry")
	b.get(path).says(http.StatusOK, de.Say("page.visit.days-late", by))
	b.get(c.act(notify.RainedOffDeed, "Brida", c.visitByUID(v.UID).Visit)).says(http.StatusOK, de.Say("page.visit.days-late", by))
}

// TestMovedOutOfItsStage: a visit that a stage asks for has the end of that stage for
// its last day.
func TestMovedOutOfItsStage(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	club := c.club()
	at := slices.IndexFunc(club.Visits, func(v scheduler.Visit) bool { return v.For == scheduler.VisitRequired })
	if at < 0 {
		t.Fatal("no visit is one that a stage asks for")
	}
	v := club.Visits[at]
	a := club.Apiary(v.ApiaryID)
	_, last := scheduler.NewSeason(a.Place(), &club.Rules).StageSpan(v.On)
	if last+3 > today+scheduler.HorizonDays {
		t.Fatalf("the stage ends on %s", last)
	}
	p := &apiaryRecords{say: text.In("en", ""), names: scheduler.NewNames(club), apiary: a, club: club, today: today, season: scheduler.NewSeason(a.Place(), &club.Rules)}
	duty := "is too late for the visit that the rules ask for in "
	if says := tellAll(p, p.tooLate(&v, last)); strings.Contains(says, duty) {
		t.Errorf("on its last day: %s", says)
	}
	if says := tellAll(p, p.tooLate(&v, last+1)); !strings.Contains(says, duty) {
		t.Errorf("a day later: %q", says)
	}
}

func tellAll(p *apiaryRecords, texts []text.Text) string {
	var out []string
	for _, t := range texts {
		out = append(out, p.say.Tell(t))
	}
	return strings.Join(out, " ")
}

// boxesBy are the marks of boxes by the day that they had to be opened by.
func boxesBy(c *scheduler.Club, limits []scheduler.BoxLimit) map[scheduler.Date][]string {
	out := map[scheduler.Date][]string{}
	for _, l := range limits {
		for i := range c.Apiaries {
			if _, box := c.Apiaries[i].Box(l.BoxID); box != nil {
				out[l.On] = append(out[l.On], box.Name)
			}
		}
	}
	return out
}
