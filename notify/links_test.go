package notify

import (
	"net/url"
	"testing"
	"time"

	"pryday/notify/mail"
	"pryday/scheduler"
)

// A mail has buttons for what its reader can still say of a visit, and none for
// one that is off or not known any more.
func TestButtonsAreForOpenVisits(t *testing.T) {
	public, err := url.Parse("https://bees.example.org")
	if err != nil {
		t.Fatal(err)
	}
	a := addresses{public, NewSigner(func() [][]byte { return [][]byte{make([]byte, 32)} })}
	visits := map[string]*scheduler.Visit{}
	for _, status := range scheduler.VisitStatuses {
		visits[string(status)] = &scheduler.Visit{UID: string(status), Status: status, On: scheduler.NewDate(2027, 5, 3)}
	}
	links := a.forMember(&scheduler.Club{ID: 7}, &scheduler.Member{ID: 5}, visits, time.Date(2027, 5, 1, 7, 0, 0, 0, time.UTC))
	for status, want := range map[scheduler.VisitStatus]struct{ goes, opened, later bool }{
		scheduler.Tentative:  {goes: true, opened: true},
		scheduler.Confirmed:  {goes: true, opened: true},
		scheduler.Unanswered: {goes: true, opened: true},
		scheduler.Done:       {later: true},
		scheduler.Missed:     {},
		scheduler.Cancelled:  {},
		"nobody knows it":    {},
	} {
		got := links.Visit(string(status))
		goes := got.Take != "" && got.CantGo != ""
		opened := got.AlreadyOpened != "" && got.RainedOff != "" && got.Page != ""
		later := got.AlsoOpened != "" && got.NotOpened != ""
		if goes != want.goes || opened != want.opened || later != want.later {
			t.Errorf("%s: %+v, want %+v", status, got, want)
		}
		if !want.goes && !want.later && got != (mail.VisitLinks{}) {
			t.Errorf("%s: has links %+v", status, got)
		}
	}
}
