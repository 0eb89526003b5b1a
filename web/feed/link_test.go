package feed

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// The life of an address: given out, replaced, withdrawn.
func TestAddressesEnd(t *testing.T) {
	b := newFixture(t, records())
	id, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	b.calendar(t, token)
	if a := b.get(t, "abcdefghijklmnopqrstuvwxyz234567"); a.status != http.StatusNotFound {
		t.Errorf("an address that nobody has: %d", a.status)
	}
	if a := b.get(t, strings.Repeat("a", 5000)); a.status != http.StatusNotFound {
		t.Errorf("an address of 5000 letters: %d", a.status)
	}
	var next string
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		_, next, err = tx.RotateLink(ctx, id)
		return err
	})
	testrun.Until(t, "the replaced address says so", func() bool {
		return strings.Contains(b.calendar(t, token), "This calendar address was replaced")
	})
	if body := b.calendar(t, token); strings.Count(body, "BEGIN:VEVENT") != 1 || !strings.Contains(body, "DTSTART;VALUE=DATE:20270503") {
		t.Errorf("the last calendar of a replaced address, on its story's day:\n%s", body)
	}
	if body := b.calendar(t, next); strings.Contains(body, "replaced") || strings.Count(body, "BEGIN:VEVENT") < 2 {
		t.Errorf("the new address:\n%s", body)
	}
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error { return tx.RevokeLink(ctx, id) })
	testrun.Until(t, "the withdrawn address says so", func() bool {
		return strings.Contains(b.calendar(t, token), "This calendar address was withdrawn")
	})
	if body := b.calendar(t, token); strings.Count(body, "BEGIN:VEVENT") != 1 || strings.Contains(body, "replaced") {
		t.Errorf("the last calendar of a withdrawn address:\n%s", body)
	}
	if a := b.get(t, next); a.status != http.StatusOK {
		t.Errorf("withdrawing one address touched another: %d", a.status)
	}
	if err := b.store.DeleteClub(context.Background(), b.club); err != nil {
		t.Fatal(err)
	}
	testrun.Until(t, "a club's addresses end with it", func() bool { return b.get(t, next).status == http.StatusNotFound })
	for _, secret := range []string{token, next} {
		if strings.Contains(b.logged(), secret) {
			t.Errorf("the log has an address in it:\n%s", b.logged())
		}
	}
}

// An address that ended says so for a month, in its reader's language, and is
// gone after that.
func TestEndedAddressIsGoneAfterAMonth(t *testing.T) {
	b := newFixture(t, records())
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		m, err := tx.Member(ctx, b.member)
		if err != nil {
			return err
		}
		m.Language = "de"
		return tx.UpdateMember(ctx, *m)
	})
	for name, c := range map[string]struct {
		end  func(context.Context, *store.Tx, int64) error
		says string
	}{
		"replaced": {func(ctx context.Context, tx *store.Tx, id int64) error {
			_, _, err := tx.RotateLink(ctx, id)
			return err
		}, "SUMMARY:Diese Kalenderadresse wurde ersetzt"},
		"withdrawn": {func(ctx context.Context, tx *store.Tx, id int64) error { return tx.RevokeLink(ctx, id) }, "SUMMARY:Diese Kalenderadresse wurde zurückgezogen"},
	} {
		t.Run(name, func(t *testing.T) {
			id, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
			b.inClub(t, func(ctx context.Context, tx *store.Tx) error { return c.end(ctx, tx, id) })
			for after, status := range map[time.Duration]int{endedFor - time.Hour: http.StatusOK, endedFor + time.Hour: http.StatusGone} {
				b.feeds.cfg.Clock = &lateClock{b.clock, after}
				b.forget()
				a := b.get(t, token)
				if a.status != status || status == http.StatusOK && !strings.Contains(unfolded(a.body), c.says) {
					t.Errorf("after %s: %d, want %d\n%s", after, a.status, status, a.body)
				}
			}
			b.feeds.cfg.Clock = b.clock
		})
	}
}

// The addresses of a member who left and of an apiary that was removed say so
// for a month, each in the language of whoever has it, and are gone after that;
// with its club they go at once.
func TestAddressesOfWhoIsNoMore(t *testing.T) {
	b := newFixture(t, records())
	var left, apiary int64
	var tokens [3]string
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		m := scheduler.Member{Name: "Runa Feld", Email: "runa@example.org", Role: scheduler.Organiser, Language: "de"}
		var err error
		if left, err = tx.AddMember(ctx, m); err != nil {
			return err
		}
		a := scheduler.Apiary{Name: "Old Quay", Latitude: 52, Timezone: "Europe/London"}
		if apiary, err = tx.AddApiary(ctx, a); err != nil {
			return err
		}
		for i, l := range []struct {
			kind           store.LinkKind
			member, apiary int64
		}{{store.MemberLink, left, 0}, {store.ClubLink, left, 0}, {store.ApiaryLink, b.member, apiary}} {
			if _, tokens[i], err = tx.CreateLink(ctx, l.kind, l.member, l.apiary, store.LinkOptions{Label: "in the hall"}); err != nil {
				return err
			}
		}
		return nil
	})
	for _, token := range tokens {
		if body := b.calendar(t, token); strings.Contains(body, "withdrawn") {
			t.Fatalf("an address that holds:\n%s", body)
		}
	}
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.RemoveMember(ctx, left); err != nil {
			return err
		}
		return tx.RemoveApiary(ctx, apiary)
	})
	says := [3][]string{
		{"SUMMARY:Diese Kalenderadresse wurde zurückgezogen", "ist nicht mehr im Verein"},
		{"SUMMARY:Diese Kalenderadresse wurde zurückgezogen", "ist nicht mehr im Verein"},
		{"SUMMARY:This calendar address was withdrawn", "the apiary was removed", "/links?club="},
	}
	for i, token := range tokens {
		testrun.Until(t, "the address says that it ended", func() bool { return strings.Contains(unfolded(b.calendar(t, token)), says[i][0]) })
		body := unfolded(b.calendar(t, token))
		for _, want := range says[i] {
			if !strings.Contains(body, want) {
				t.Errorf("address %d does not say %q:\n%s", i, want, body)
			}
		}
		if strings.Count(body, "BEGIN:VEVENT") != 1 || strings.Contains(body, "Runa") || i < 2 && strings.Contains(body, "URL") {
			t.Errorf("the last calendar of address %d:\n%s", i, body)
		}
		for after, status := range map[time.Duration]int{endedFor - time.Hour: http.StatusOK, endedFor + time.Hour: http.StatusGone} {
			b.feeds.cfg.Clock = &lateClock{b.clock, after}
			b.forget()
			if a := b.get(t, token); a.status != status {
				t.Errorf("address %d after %s: %d, want %d", i, after, a.status, status)
			}
		}
		b.feeds.cfg.Clock = b.clock
	}
	if err := b.store.DeleteClub(context.Background(), b.club); err != nil {
		t.Fatal(err)
	}
	for _, token := range tokens {
		testrun.Until(t, "it goes with its club", func() bool { return b.get(t, token).status == http.StatusNotFound })
	}
}

// lateClock is a clock whose real time is ahead.
type lateClock struct {
	*clock
	by time.Duration
}

func (c *lateClock) Now() time.Time { return c.clock.Now().Add(c.by) }

// Each link shows what it is for.
func TestLinksShowWhatTheyAreFor(t *testing.T) {
	b := newFixture(t, records())
	var apiaries []scheduler.Apiary
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		c, err := tx.Outline(ctx)
		apiaries = c.Apiaries
		return err
	})
	links := map[string]string{}
	add := func(name string, kind store.LinkKind, apiary int64, o store.LinkOptions) {
		_, links[name] = b.link(t, kind, apiary, o)
	}
	add("club", store.ClubLink, 0, store.LinkOptions{Far: true})
	add("apiary", store.ApiaryLink, apiaries[1].ID, store.LinkOptions{Far: true})
	add("member", store.MemberLink, 0, store.LinkOptions{Far: true, ExactPlace: true, Alarms: true, Timed: true})
	add("confirmed", store.ClubLink, 0, store.LinkOptions{Far: true, ConfirmedOnly: true, Alarms: true})
	add("near", store.ClubLink, 0, store.LinkOptions{})
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		m, err := tx.Member(ctx, b.member)
		if err != nil {
			return err
		}
		m.Prefs.VisitHours = &scheduler.HoursOfDay{From: 9 * 60, Until: 11*60 + 30}
		return tx.UpdateMember(ctx, *m)
	})
	cases := []struct {
		link   string
		says   []string
		silent []string
	}{
		{"club", []string{"X-WR-CALNAME:Low Weir Bees\r", "LOCATION:Weir Meadow", "LOCATION:Far Bank", "STATUS:TENTATIVE", "https://bees.example/visit/"}, []string{"GEO:", "8812", "VALARM", "TZID="}},
		{"apiary", []string{"X-WR-CALNAME:Far Bank\\, Low Weir Bees\r", "LOCATION:Far Bank"}, []string{"Weir Meadow"}},
		{"member", []string{"X-WR-CALNAME:Ilse Varga\\, Low Weir Bees\r", "LOCATION:Weir Meadow", "GEO:52.200000;0.100000", "TZID=Europe/London:", "T090000", "TRIGGER:-PT900M"}, []string{"Far Bank", "8812"}},
		{"confirmed", []string{"STATUS:CONFIRMED", "TRIGGER:-PT360M"}, []string{"TENTATIVE"}},
		// A lug broke on Ash's lowest box when it was last opened.
		{"near", []string{"Also: frame"}, nil},
	}
	for _, c := range cases {
		t.Run(c.link, func(t *testing.T) {
			var body string
			testrun.Until(t, "the visit has hours", func() bool {
				body = unfolded(b.calendar(t, links[c.link]))
				return c.link != "member" || strings.Contains(body, "TZID=")
			})
			for _, want := range c.says {
				if !strings.Contains(body, want) {
					t.Errorf("no %q in\n%s", want, body)
				}
			}
			for _, no := range c.silent {
				if strings.Contains(body, no) {
					t.Errorf("%q in\n%s", no, body)
				}
			}
		})
	}
	far, near := strings.Count(b.calendar(t, links["club"]), "BEGIN:VEVENT"), strings.Count(b.calendar(t, links["near"]), "BEGIN:VEVENT")
	if near >= far || near == 0 {
		t.Errorf("%d events near, %d in all", near, far)
	}
}

// Readings are written down together, with the client's own name for itself.
func TestReadingsAreWrittenDown(t *testing.T) {
	b := newFixture(t, records())
	id, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	tag := b.get(t, token, "User-Agent", "first/1").header.Get("ETag")
	b.get(t, token, "User-Agent", "second/2", "If-None-Match", tag)
	read := func() (l *store.Link) {
		b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
			l, err = tx.Link(ctx, id)
			return err
		})
		return l
	}
	if l := read(); l.Fetches != 0 {
		t.Errorf("a request wrote to the database: %+v", l)
	}
	b.feeds.flush()
	if l := read(); l.Fetches != 2 || l.FetchedBy != "second/2" || time.Since(l.FetchedAt) > time.Minute {
		t.Errorf("written down: %+v", l)
	}
	b.get(t, token, "User-Agent", "third/3")
	b.feeds.Close()
	if l := read(); l.Fetches != 3 || l.FetchedBy != "third/3" {
		t.Errorf("written down at the end: %+v", l)
	}
}
