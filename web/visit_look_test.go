package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

var (
	entryAddress = regexp.MustCompile(`\r\nURL:(\S+)`)
	actAddress   = regexp.MustCompile(`href="(/act/[A-Za-z0-9_-]+)"`)
)

// ownEntries makes a calendar address of a member and returns the paths behind
// its entries.
func (c *testClub) ownEntries(member string, kind store.LinkKind) (link int64, paths []string) {
	c.t.Helper()
	var token string
	c.in(func(tx *store.Tx) error {
		l, made, err := tx.CreateLink(context.Background(), kind, c.member[member], 0, store.LinkOptions{Far: true})
		if err == nil {
			link, token = l.ID, made
		}
		return err
	})
	body := strings.ReplaceAll(c.stranger().get("/calendar/"+token+".ics").body, "\r\n ", "")
	for _, m := range entryAddress.FindAllStringSubmatch(body, -1) {
		u, err := url.Parse(m[1])
		if err != nil {
			c.t.Fatal(err)
		}
		if strings.Count(body, strings.ReplaceAll(m[1], ",", `\\,`)) < 2 {
			c.t.Errorf("the text of the entry does not name its address %s", m[1])
		}
		paths = append(paths, u.RequestURI())
	}
	return link, paths
}

// An entry of one's own calendar opens its visit without signing in, and
// following it, or anything on the page, changes nothing.
func TestOwnEntryOpensItsVisit(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	_, paths := c.ownEntries("Brida", store.MemberLink)
	if len(paths) == 0 {
		t.Fatal("Brida's calendar has no entry")
	}
	before := fmt.Sprint(c.club())
	b := c.stranger()
	for _, path := range paths {
		page := b.get(path).says(http.StatusOK, "Quarry").hides("4711")
		for _, m := range actAddress.FindAllStringSubmatch(page.body, -1) {
			b.get(m[1]).says(http.StatusOK, "Quarry").hides("4711")
		}
		if sheet := b.get(path+"/sheet").says(http.StatusOK, "Quarry", "How hard").hides("4711"); !strings.Contains(sheet.body, `href="`+path+`"`) {
			t.Errorf("the sheet of %s does not lead back", path)
		}
		b.post(path, fields()).says(http.StatusGone, "does not work")
	}
	if after := fmt.Sprint(c.club()); after != before {
		t.Error("following an entry changed records")
	}
}

// From an entry a member answers as from a mail.
func TestOwnEntryAnswers(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	_, paths := c.ownEntries("Brida", store.MemberLink)
	b := c.stranger()
	var own string
	for _, path := range paths {
		if a, err := c.notify.Signer().Verify(strings.TrimPrefix(path, "/act/"), time.Now()); err == nil && a.VisitUID == v.UID {
			own = path
		}
	}
	if own == "" {
		t.Fatalf("no entry of %s in %v", v.UID, paths)
	}
	press := func(label string) {
		t.Helper()
		page := b.get(own)
		at := regexp.MustCompile(`href="(/act/[A-Za-z0-9_-]+)">` + label).FindStringSubmatch(page.body)
		if at == nil {
			t.Fatalf("no %q on the page:\n%s", label, page.body)
		}
		b.post(at[1], fields("sequence", b.get(at[1]).field("sequence"))).says(http.StatusOK)
	}
	press("I&#39;ll go")
	if got := c.visitByUID(v.UID); !got.IsTakenBy(c.member["Brida"]) {
		t.Fatalf("she does not go: %+v", got)
	}
	b.get(own).hides("I&#39;ll go")
	press("I can&#39;t go")
	if got := c.visitByUID(v.UID); slices.Contains(got.Who, c.member["Brida"]) {
		t.Errorf("she still goes: %+v", got)
	}
}

// What entries open ends with the calendar's address, with the member, and with
// time; and a calendar that others may see has no such entries.
func TestOwnEntriesEnd(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	for name, kind := range map[string]store.LinkKind{"club": store.ClubLink} {
		_, paths := c.ownEntries("Brida", kind)
		for _, path := range paths {
			if !strings.HasPrefix(path, "/visit/") {
				t.Errorf("an entry of a calendar of the %s leads to %s", name, path)
			}
		}
	}
	v := c.visit("Quarry")
	b := c.stranger()
	link, paths := c.ownEntries("Brida", store.MemberLink)
	page := b.get(paths[0]).says(http.StatusOK)
	further := actAddress.FindStringSubmatch(page.body)[1]
	sign := func(change func(*notify.Action)) string {
		a := notify.CalendarAction(c.id, &scheduler.Member{ID: c.member["Brida"]}, link, &v, 0)
		a.Expires = time.Now().Add(time.Hour)
		change(&a)
		return "/act/" + c.notify.Signer().Sign(a)
	}
	b.get(sign(func(*notify.Action) {})).says(http.StatusOK)
	for name, path := range map[string]string{
		"no such address":    sign(func(a *notify.Action) { a.Link = 99999 }),
		"another member's":   sign(func(a *notify.Action) { a.Member = c.member["Corin"] }),
		"of other buttons":   sign(func(a *notify.Action) { a.Ended = 1 }),
		"of its time":        sign(func(a *notify.Action) { a.Expires = time.Now().Add(-time.Minute) }),
		"changed on the way": paths[0][:len(paths[0])-1] + "x",
	} {
		if got := b.get(path); got.status != http.StatusGone {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	c.in(func(tx *store.Tx) error { return tx.RevokeLink(context.Background(), link) })
	for _, path := range []string{paths[0], further} {
		b.get(path).says(http.StatusGone, "does not work")
		b.post(path, fields("sequence", "0")).says(http.StatusGone, "does not work")
	}
}

// Only an address that shows the visit shows it on paper.
func TestSheetNeedsALook(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	b := c.stranger()
	b.get(c.act(notify.LookDeed, "Brida", v)+"/sheet").says(http.StatusOK, "Quarry")
	for _, do := range []notify.Deed{notify.RecordDeed, notify.GoDeed, notify.CantGoDeed} {
		b.get(c.act(do, "Brida", v)+"/sheet").says(http.StatusGone, "does not work")
	}
	b.get("/act/forged/sheet").says(http.StatusGone, "does not work")
}

func TestOwnAddressSaysWhatItOpens(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	brida.post("/links", fields("kind", "member")).says(200, "whoever has the address can answer for you")
	brida.post("/links", fields("kind", "club")).says(200).hides("can answer for you")
}
