package web

import (
	"context"
	"net/http"
	"net/url"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

// TestASecondTapSaysWhatIsTrue taps every button of a mail twice, in each
// language: the second time it says what is so since the first, on looking and
// on sending alike, and changes nothing.
func TestASecondTapSaysWhatIsTrue(t *testing.T) {
	t.Parallel()
	outside := func(c *testClub, v scheduler.Visit) {
		for now := c.visitByUID(v.UID); len(now.Boxes) > 0; now = c.visitByUID(v.UID) {
			c.in(func(tx *store.Tx) error {
				_, err := tx.LeaveBoxOut(context.Background(), v.ID, now.Sequence, now.Boxes[0].BoxID, true, today)
				return err
			})
		}
	}
	const before, after = "Tuesday 1 June 2027", "Monday 7 June 2027"
	for _, row := range []struct {
		name   string
		do     notify.Deed
		given  func(*testClub, scheduler.Visit)
		form   url.Values
		first  [2]string // what the first tap is answered with, English and German
		second [2]string // and the second, where there is nothing to ask
		look   [2]string // or what it asks
		offers notify.Deed
	}{
		{
			"go", notify.GoDeed, nil, fields(),
			[2]string{"You go", "Du fährst am"},
			[2]string{"You go already: " + before + ", Quarry.", "Du fährst schon: Dienstag, 1. Juni 2027, Quarry."},
			[2]string{},
			notify.CantGoDeed,
		},
		{
			"can't go", notify.CantGoDeed, nil, fields(),
			[2]string{"You are off the visit", "bist du nicht mehr dabei"},
			[2]string{"You are off it already: " + before + ", Quarry.", "Du bist schon nicht mehr dabei: Dienstag, 1. Juni 2027, Quarry."},
			[2]string{},
			notify.GoDeed,
		},
		{
			"moved", notify.RainedOffDeed, nil, fields("to", (today + 6).String(), "sure", "yes"),
			[2]string{"stays there", "bleibt dort"},
			[2]string{"It stands on that day already: " + after + ", Quarry.", "Er liegt schon auf diesem Tag: Montag, 7. Juni 2027, Quarry."},
			[2]string{"from 1 June 2027 to 7 June 2027", "vom 1. Juni 2027 auf den 7. Juni 2027"},
			notify.RainedOffDeed,
		},
		{
			"opened", notify.OpenedDeed, nil, fields("on", today.String(), "scraped", "all"),
			[2]string{"without trouble", "ohne Probleme"},
			[2]string{"It was already recorded as done by you: " + before + ", Quarry.", "Du hast ihn schon als erledigt eingetragen: Dienstag, 1. Juni 2027, Quarry."},
			[2]string{},
			notify.RecordDeed,
		},
		{
			"was there", notify.OpenedDeed, outside, fields("on", today.String()),
			[2]string{"is done", "ist erledigt"},
			[2]string{"It is done already: " + before + ", Quarry.", "Er ist schon erledigt: Dienstag, 1. Juni 2027, Quarry."},
			[2]string{},
			notify.RecordDeed,
		},
	} {
		for i, language := range []string{"en", "de"} {
			t.Run(row.name+" in "+language, func(t *testing.T) {
				t.Parallel()
				c := serveClub(t)
				c.speaks("Brida", language)
				v := c.visit("Quarry")
				if row.given != nil {
					row.given(c, v)
					v = c.visitByUID(v.UID).Visit
				}
				path, b := c.act(row.do, "Brida", v), c.stranger()
				page := b.get(path).says(http.StatusOK)
				form := url.Values{}
				if strings.Contains(page.body, `name="seen"`) { // what was opened is recorded whatever was seen
					form = fields("sequence", page.field("sequence"), "seen", page.field("seen"))
				}
				for k, values := range row.form {
					form[k] = values
				}
				b.post(path, form).says(http.StatusOK, row.first[i])
				stood, apiaries := c.visitByUID(v.UID).Visit, c.club().Apiaries
				look := row.look[i]
				if look == "" {
					look = row.second[i]
				}
				b.get(path).says(http.StatusOK, look)
				for _, again := range []url.Values{form, row.form} {
					got := b.post(path, again).says(http.StatusOK, row.second[i])
					if now := c.visitByUID(v.UID); !slices.Contains(c.offered(got, now.Visit), row.offers) {
						t.Errorf("the page does not offer %s as the visit is now: %s", row.offers, got.body)
					}
				}
				if now := c.visitByUID(v.UID).Visit; !reflect.DeepEqual(now, stood) {
					t.Errorf("a second tap changed\n%+v\nto\n%+v", stood, now)
				}
				if now := c.club().Apiaries; !reflect.DeepEqual(now, apiaries) {
					t.Errorf("a second tap changed\n%+v\nto\n%+v", apiaries, now)
				}
			})
		}
	}
}

// offered are the answers that a page leads to about a visit as it stands.
func (c *testClub) offered(page *answer, v scheduler.Visit) (deeds []notify.Deed) {
	for _, m := range regexp.MustCompile(`href="/act/([^"/]+)"`).FindAllStringSubmatch(page.body, -1) {
		a, err := c.notify.Signer().Verify(m[1], time.Now())
		if err == nil && a.VisitUID == v.UID && a.On == v.On && a.Sequence == v.Sequence {
			deeds = append(deeds, a.Do)
		}
	}
	return deeds
}

// TestAnAnswerAfterAChange taps every button after something happened to the
// visit that the mail was about.
func TestAnAnswerAfterAChange(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	change := func(do func(tx *store.Tx, v *store.VisitRecord) error) func(*testClub, scheduler.Visit) {
		return func(c *testClub, v scheduler.Visit) {
			now := c.visitByUID(v.UID)
			c.in(func(tx *store.Tx) error { return do(tx, now) })
		}
	}
	moved := change(func(tx *store.Tx, v *store.VisitRecord) error {
		_, err := tx.MoveVisit(ctx, v.ID, v.Sequence, today+6, today)
		return err
	})
	cancelled := change(func(tx *store.Tx, v *store.VisitRecord) error {
		_, err := tx.CallOffVisit(ctx, v.ID, v.Sequence, today+40, today)
		return err
	})
	joined := func(c *testClub, v scheduler.Visit) {
		change(func(tx *store.Tx, now *store.VisitRecord) error {
			_, err := tx.TakeVisit(ctx, now.ID, now.Sequence, c.member["Corin"], today)
			return err
		})(c, v)
	}
	opened := func(c *testClub, v scheduler.Visit) {
		c.stranger().post(c.act(notify.OpenedDeed, "Corin", v), fields("on", today.String())).says(http.StatusOK)
	}
	movedSays := [2]string{"from 1 June 2027 to 7 June 2027", "vom 1. Juni 2027 auf den 7. Juni 2027"}
	cancelledSays := [2]string{"It was cancelled: Tuesday 1 June 2027, Quarry.", "Er wurde abgesagt: Dienstag, 1. Juni 2027, Quarry."}
	openedSays := [2]string{"It was already recorded as done: Tuesday 1 June 2027, Quarry, by Corin", "Er ist schon als erledigt eingetragen: Dienstag, 1. Juni 2027, Quarry, von Corin"}
	for _, row := range []struct {
		name   string
		do     notify.Deed
		since  func(*testClub, scheduler.Visit)
		says   [2]string // on looking
		status int       // of sending what the mail asked
		sent   [2]string
	}{
		{"go, moved", notify.GoDeed, moved, movedSays, http.StatusConflict, movedSays},
		{"can't go, moved", notify.CantGoDeed, moved, movedSays, http.StatusConflict, movedSays},
		{"move, moved", notify.RainedOffDeed, moved, movedSays, http.StatusConflict, movedSays},
		{"opened, moved", notify.OpenedDeed, moved, [2]string{"Already opened?", "Schon geöffnet?"}, http.StatusOK, [2]string{"without trouble", "ohne Probleme"}},
		{"go, cancelled", notify.GoDeed, cancelled, cancelledSays, http.StatusOK, cancelledSays},
		{"can't go, cancelled", notify.CantGoDeed, cancelled, cancelledSays, http.StatusOK, cancelledSays},
		{"move, cancelled", notify.RainedOffDeed, cancelled, cancelledSays, http.StatusOK, cancelledSays},
		{"opened, cancelled", notify.OpenedDeed, cancelled, [2]string{"It is cancelled.", "Er ist abgesagt."}, http.StatusOK, [2]string{"without trouble", "ohne Probleme"}},
		{"go, another joined", notify.GoDeed, joined, [2]string{"You'll go?", "Du fährst hin?"}, http.StatusOK, [2]string{"You go", "Du fährst am"}},
		{"can't go, another joined", notify.CantGoDeed, joined, [2]string{"You can't go?", "Du kannst nicht?"}, http.StatusOK, [2]string{"You are off", "nicht mehr dabei"}},
		{"go, opened by another", notify.GoDeed, opened, openedSays, http.StatusOK, openedSays},
		{"can't go, opened by another", notify.CantGoDeed, opened, openedSays, http.StatusOK, openedSays},
		{"opened, opened by another", notify.OpenedDeed, opened, openedSays, http.StatusOK, openedSays},
	} {
		for i, language := range []string{"en", "de"} {
			t.Run(row.name+" in "+language, func(t *testing.T) {
				t.Parallel()
				c := serveClub(t)
				c.speaks("Brida", language)
				v := c.visit("Quarry")
				c.in(func(tx *store.Tx) error {
					_, err := tx.SetWho(ctx, v.ID, v.Sequence, []int64{c.member["Corin"]}, today)
					return err
				})
				v = c.visitByUID(v.UID).Visit
				if row.do != notify.GoDeed {
					c.in(func(tx *store.Tx) error {
						_, err := tx.TakeVisit(ctx, v.ID, v.Sequence, c.member["Brida"], today)
						return err
					})
					v = c.visitByUID(v.UID).Visit
				}
				path, b := c.act(row.do, "Brida", v), c.stranger()
				row.since(c, v)
				b.get(path).says(http.StatusOK, row.says[i])
				form := fields()
				switch row.do {
				case notify.RainedOffDeed:
					form = fields("to", (today + 9).String(), "sure", "yes")
				case notify.OpenedDeed:
					form = fields("on", today.String())
				}
				b.post(path, form).says(row.status, row.sent[i])
			})
		}
	}
}

// TestADoubleTapChangesOnce sends one answer twice at the same time.
func TestADoubleTapChangesOnce(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	path := c.act(notify.GoDeed, "Brida", v)
	done := make(chan *answer)
	for range 2 {
		go func() { done <- c.stranger().post(path, fields()) }()
	}
	for range 2 {
		if got := <-done; got.status != http.StatusOK {
			t.Errorf("%d: %s", got.status, got.text())
		}
	}
	if got := c.visitByUID(v.UID); !got.IsTakenBy(c.member["Brida"]) {
		t.Errorf("going: %v", got.Taken)
	}
}
