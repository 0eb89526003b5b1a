package feed

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store"
)

// An address ends in the calendar's name, in letters that need no escaping.
func TestAddressIsReadable(t *testing.T) {
	club := &scheduler.Club{
		Name: "Low Weir Bees", Members: []scheduler.Member{{ID: 1, Name: "Ilse Varga"}, {ID: 2, Name: "Jörg Süß", Language: "de-AT"}},
		Apiaries: []scheduler.Apiary{{ID: 5, Name: "Orchard, east"}, {ID: 6, Name: "Übergärten"}, {ID: 7, Name: "../..\r\n?x#%2f"}, {ID: 8, Name: strings.Repeat("meadow ", 30)}, {ID: 9, Name: "🐝"}},
	}
	public := &url.URL{Scheme: "https", Host: "bees.example", Path: "/club"}
	for _, c := range []struct {
		link store.Link
		want string
	}{
		{store.Link{Kind: store.ClubLink, MemberID: 1}, "low-weir-bees"},
		{store.Link{Kind: store.MemberLink, MemberID: 1}, "ilse-varga-low-weir-bees"},
		{store.Link{Kind: store.MemberLink, MemberID: 2}, "joerg-suess-low-weir-bees"},
		{store.Link{Kind: store.ApiaryLink, MemberID: 1, ApiaryID: 5}, "orchard-east-low-weir-bees"},
		{store.Link{Kind: store.ApiaryLink, MemberID: 2, ApiaryID: 6}, "uebergaerten-low-weir-bees"},
		{store.Link{Kind: store.ApiaryLink, MemberID: 1, ApiaryID: 7}, "x-2f-low-weir-bees"},
		{store.Link{Kind: store.ApiaryLink, MemberID: 1, ApiaryID: 8}, strings.TrimSuffix(strings.Repeat("meadow-", 8), "-")},
		{store.Link{Kind: store.ApiaryLink, MemberID: 1, ApiaryID: 9}, "low-weir-bees"},
	} {
		if got := Address(public, "abc", club, &c.link); got != "https://bees.example/club/calendar/abc/"+c.want+".ics" {
			t.Errorf("%+v: %s, want %s", c.link, got, c.want)
		}
	}
	if got := fileOf(&scheduler.Club{Name: "🐝"}, &store.Link{Kind: store.ClubLink}); got != "visits" {
		t.Errorf("a club without letters: %q", got)
	}
}

// The name in an address is not checked, and addresses from before there was
// one go on working: the same calendar for all.
func TestNameInAddressIsNotChecked(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	want := b.get(t, token)
	if !strings.Contains(unfolded(want.body), "SOURCE;VALUE=URI:https://bees.example/calendar/"+token+"/low-weir-bees.ics\r\n") {
		t.Errorf("the calendar does not name its address:\n%s", want.body)
	}
	if name := want.header.Get("Content-Disposition"); name != `inline; filename="low-weir-bees.ics"` {
		t.Errorf("the file is called %q", name)
	}
	for path, status := range map[string]int{
		"/low-weir-bees.ics": 200, "/another-name.ics": 200, "/%C3%BCber%2F..ics": 200, "/anything": 200, ".ics": 200,
		"": 404, "/": 404, "/a/b.ics": 404, "x/low-weir-bees.ics": 404,
	} {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, b.server.URL+"/calendar/"+token+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		res, err := b.server.Client().Do(req)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != status {
			t.Errorf("%q: %d, want %d", path, res.StatusCode, status)
		}
	}
}

// Calendars are only read (RFC 9110, 15.5.6): programs that try to write, or
// to find a calendar server here, are told so, known address or not.
func TestOtherMethods(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	for _, method := range []string{"POST", "PUT", "DELETE", "PATCH", "OPTIONS", "PROPFIND", "REPORT", "MKCALENDAR", "TRACE"} {
		for _, which := range []string{token, "unknown", token + "/low-weir-bees"} {
			if a := b.ask(t, method, which); a.status != http.StatusMethodNotAllowed || a.header.Get("Allow") != "GET, HEAD" {
				t.Errorf("%s: %d, Allow %q", method, a.status, a.header.Get("Allow"))
			}
		}
	}
	if n := b.feeds.Counts().Answers[http.StatusMethodNotAllowed]; n != 27 {
		t.Errorf("%d counted", n)
	}
	if a := b.get(t, token); a.status != http.StatusOK {
		t.Errorf("and a GET %d", a.status)
	}
}
