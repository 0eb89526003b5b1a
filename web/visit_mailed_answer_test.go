package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

// lastTold returns the day of a visit that a member was last told.
func (c *testClub) lastTold(member, uid string) (on scheduler.Date, ok bool) {
	c.t.Helper()
	c.in(func(tx *store.Tx) error {
		turn, err := tx.TakeTurn(context.Background(), time.Now())
		if err != nil {
			return err
		}
		for _, t := range turn.Before.Told {
			if t.MemberID == c.member[member] && t.VisitUID == uid {
				on, ok = t.On, true
			}
		}
		return nil
	})
	return on, ok
}

func TestMailedAddressesAskFirst(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	before := fmt.Sprint(c.club())
	for _, do := range []notify.Deed{notify.RecordDeed, notify.OpenedDeed, notify.RainedOffDeed, notify.CantGoDeed} {
		for range 2 {
			got := c.stranger().get(c.act(do, "Brida", v)).says(http.StatusOK, "Quarry")
			got.hides("4711")
		}
	}
	if after := fmt.Sprint(c.club()); after != before {
		t.Error("following an address changed records")
	}
}

func TestMailedAddressesThatDoNotWork(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	good := c.act(notify.CantGoDeed, "Brida", v)
	late := "/act/" + c.notify.Signer().Sign(notify.Action{Do: notify.CantGoDeed, Club: c.id, Member: c.member["Brida"], VisitUID: v.UID, Expires: time.Now().Add(-time.Minute)})
	foreign := "/act/" + c.notify.Signer().Sign(notify.Action{Do: notify.CantGoDeed, Club: c.other, Member: c.member["Dorrit"], VisitUID: v.UID, Expires: time.Now().Add(time.Hour)})
	stranger := "/act/" + c.notify.Signer().Sign(notify.Action{Do: notify.CantGoDeed, Club: c.id, Member: c.member["Dorrit"], VisitUID: v.UID, Expires: time.Now().Add(time.Hour)})
	unsubscribe := "/act/" + c.notify.Signer().Sign(notify.Action{Do: notify.UnsubscribeDeed, Club: c.id, Member: c.member["Brida"], Expires: time.Now().Add(time.Hour)})
	for name, path := range map[string]string{
		"cut short": good[:len(good)-3], "too old": late, "another club's visit": foreign, "not a member": stranger, "of another deed": unsubscribe,
	} {
		t.Run(name, func(t *testing.T) {
			c.stranger().get(path).says(http.StatusGone, "does not work")
			c.stranger().post(path, fields("sequence", "0")).says(http.StatusGone, "does not work")
		})
	}
}

func TestCantGo(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	c.in(func(tx *store.Tx) error {
		_, err := tx.SetWho(context.Background(), v.ID, v.Sequence, []int64{c.member["Brida"], c.member["Corin"]}, today)
		return err
	})
	old := c.act(notify.CantGoDeed, "Brida", v) // written before somebody joined, which is no matter
	b := c.stranger()
	b.get(old).says(http.StatusOK, "I can't go").hides("has changed", "was moved")
	c.in(func(tx *store.Tx) error {
		_, err := tx.MoveVisit(context.Background(), v.ID, c.visitByUID(v.UID).Sequence, v.On+4, today)
		return err
	})
	page := b.get(old).says(http.StatusOK, "This visit was moved", "I can't go", v.On.Format("2 January 2006"), (v.On + 4).Format("2 January 2006"))
	for _, form := range []url.Values{fields(), fields("sequence", fmt.Sprint(v.Sequence)), fields("seen", v.On.String())} {
		b.post(old, form).says(http.StatusConflict, "This visit was moved")
	}
	if got := c.visitByUID(v.UID); len(got.Who) != 2 {
		t.Fatalf("an answer about another day changed who goes: %v", got.Who)
	}
	b.post(old, fields("sequence", page.field("sequence"), "seen", page.field("seen"))).says(http.StatusOK, "You are off the visit")
	v = c.visitByUID(v.UID).Visit
	if got := c.visitByUID(v.UID); !slices.Equal(got.Who, []int64{c.member["Corin"]}) {
		t.Errorf("going: %v, want Corin alone", got.Who)
	}
	if on, ok := c.lastTold("Brida", v.UID); !ok || on != v.On {
		t.Errorf("Brida was told %v (%v), want that she knows of %v", on, ok, v.On)
	}
	if _, ok := c.lastTold("Corin", v.UID); ok {
		t.Error("Corin is noted as told, though Brida did it")
	}
}

func TestRainedOff(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	path := c.act(notify.RainedOffDeed, "Brida", v)
	b := c.stranger()
	days := scheduler.RainedOff(c.club(), &v, today, 5)
	if len(days) == 0 {
		t.Fatal("no day to move to")
	}
	page := b.get(path).says(http.StatusOK, "Rained off?", days[0].Format("2 January 2006"))
	seq := page.field("sequence")
	winter := scheduler.NewDate(2028, 1, 15)
	for name, row := range map[string]struct {
		to     string
		status int
		says   string
	}{
		"the past":      {(today - 1).String(), http.StatusUnprocessableEntity, "Not that day"},
		"too far":       {"2029-01-01", http.StatusUnprocessableEntity, "Not that day"},
		"no day":        {"", http.StatusUnprocessableEntity, "Which day?"},
		"not a day":     {"2027-02-30", http.StatusUnprocessableEntity, "is not a day"},
		"in mid-winter": {winter.String(), http.StatusUnprocessableEntity, "open no box"},
	} {
		t.Run(name, func(t *testing.T) {
			b.post(path, fields("sequence", seq, "other", row.to)).says(row.status, row.says)
			if got := c.visitByUID(v.UID); got.On != v.On {
				t.Errorf("moved to %v", got.On)
			}
		})
	}
	b.post(path, fields("sequence", seq, "to", days[0].String())).says(http.StatusOK, "stays there", "You go to Quarry")
	got := c.visitByUID(v.UID)
	if !got.IsTakenBy(c.member["Brida"]) {
		t.Errorf("Brida, who is expected, put it off, and is not among those who go: %+v", got.Visit)
	}
	if got.On != days[0] || !got.Pinned {
		t.Errorf("on %v, pinned %v; want %v, pinned", got.On, got.Pinned, days[0])
	}
	if on, _ := c.lastTold("Brida", v.UID); on != days[0] {
		t.Errorf("Brida is noted as knowing of %v, want %v", on, days[0])
	}
	b.get(path).says(http.StatusOK, "This visit was moved")
}

func TestAlreadyOpened(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	path := c.act(notify.OpenedDeed, "Brida", v)
	b := c.stranger()
	b.get(path).says(http.StatusOK, "Already opened?", "All opened, no trouble")
	tomorrow := today + 1
	b.post(path, fields("on", tomorrow.String())).says(http.StatusUnprocessableEntity, "Which day?")
	b.follow(path, fields("on", today.String(), "details", "yes")).says(http.StatusOK, "Is the stack as drawn?")
	b.post(path, fields("on", today.String(), "scraped", "all")).says(http.StatusOK, "opened on", "without trouble", "open by")
	b.post(path, fields("on", today.String(), "scraped", "all")).says(http.StatusOK, "It was already recorded as done by you")
	n := 0
	for _, a := range c.club().Apiaries {
		for _, h := range a.Hives {
			for _, box := range h.Boxes {
				if o := box.OpeningOn(today); o != nil {
					n++
					if o.By != c.member["Brida"] || o.Scraped != scheduler.ScrapedAll || o.Difficulty() != scheduler.Light {
						t.Errorf("recorded %+v", o)
					}
				}
			}
		}
	}
	if n != len(v.Boxes) {
		t.Errorf("%d openings, want %d", n, len(v.Boxes))
	}
}

func TestUnsubscribe(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	sign := func(member string) string {
		return "/unsubscribe/" + c.notify.Signer().Sign(notify.Action{Do: notify.UnsubscribeDeed, Club: c.id, Member: c.member[member], Expires: time.Now().Add(time.Hour)})
	}
	muted := func(name string) int {
		for _, m := range c.club().Members {
			if m.ID == c.member[name] {
				return len(m.Prefs.Mute)
			}
		}
		return -1
	}
	path := sign("Brida")
	b := c.stranger()
	b.get(path).says(http.StatusOK, "Stop all reminders", "brida@example.org")
	if muted("Brida") != 0 {
		t.Fatal("looking at the page unsubscribed")
	}
	// A mailbox provider's server, RFC 8058: the token is all that it has.
	b.send("POST", path, fields("List-Unsubscribe", "One-Click"), map[string]string{"Origin": "https://mail.example.net", "Sec-Fetch-Site": "cross-site"}).
		says(http.StatusOK, "No more reminders")
	if muted("Brida") != 5 || muted("Ansel") != 0 {
		t.Errorf("muted: Brida %d kinds, Ansel %d; want 5 and 0", muted("Brida"), muted("Ansel"))
	}
	b.get(path).says(http.StatusOK, "stopped at present")
	b.post(path, fields("again", "yes")).says(http.StatusOK, "Reminders go to")
	if muted("Brida") != 0 {
		t.Error("still muted after asking for mail again")
	}
	b.post(path+"x", fields("List-Unsubscribe", "One-Click")).says(http.StatusGone)
	act := strings.Replace(c.act(notify.CantGoDeed, "Brida", c.visit("Quarry")), "/act/", "/unsubscribe/", 1)
	b.post(act, fields("List-Unsubscribe", "One-Click")).says(http.StatusGone)
}

func TestAlreadyThereWithoutABoxToOpen(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	for {
		now := c.visitByUID(v.UID)
		if len(now.Boxes) == 0 {
			break
		}
		c.in(func(tx *store.Tx) error {
			_, err := tx.LeaveBoxOut(context.Background(), v.ID, now.Sequence, now.Boxes[0].BoxID, true, today)
			return err
		})
	}
	v = c.visitByUID(v.UID).Visit
	if !v.Status.Open() {
		t.Fatalf("without boxes the visit is %s", v.Status)
	}
	path := c.act(notify.OpenedDeed, "Brida", v)
	b := c.stranger()
	page := b.get(path).says(http.StatusOK, "Already there?", "We were there")
	b.post(path, fields("on", today.String(), "sequence", page.field("sequence"))).says(http.StatusOK, "is done")
	if got := c.visitByUID(v.UID); got.Status != scheduler.Done || got.On != today {
		t.Errorf("%s on %v", got.Status, got.On)
	}
}
