package season

import (
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pryday/notify"
	"pryday/scheduler"
)

// habit is what a person does with mail.
type habit struct {
	answers float64 // the part of days on which the person reads mail and answers it
	refuses bool    // says "I can't go" to everything
	away    []scheduler.Period
}

// person is one of a town, with a mailbox.
type person struct {
	*town
	habit
	address string
	letters []*letter          // all, as they came
	unread  []*letter          // since the person last looked
	latest  map[string]*letter // by visit: the last mail with buttons about it
	went    []string           // visits that the person went on and has not written down
}

// attends reports whether a person looks at mail at this hour.
func (p *person) attends() bool {
	if slices.ContainsFunc(p.away, func(x scheduler.Period) bool { return x.Contains(p.today()) }) {
		return false
	}
	return p.draw(fmt.Sprint("attends ", p.address, p.today())).Float64() < p.answers
}

// answer reads what came and taps its buttons; whoever does not look today
// does not come back to it either.
func (p *person) answer() {
	p.Helper()
	mails := p.unread
	p.unread = nil
	if !p.attends() {
		for _, m := range mails {
			p.keep(m)
		}
		return
	}
	for _, m := range mails {
		p.keep(m)
		for _, a := range m.asks {
			p.tap(a)
		}
	}
}

func (p *person) keep(m *letter) {
	for _, a := range m.asks {
		p.latest[a.uid] = m
	}
}

// tap answers what a mail asks about one visit.
func (p *person) tap(a asked) {
	p.Helper()
	v := p.visitOf(a.club, a.uid)
	take, cant := a.button[notify.GoDeed], a.button[notify.CantGoDeed]
	switch over := v.On < p.today(); {
	case a.button[notify.AlsoOpenedDeed] != "": // a made visit of which boxes are left without a word
		p.say(a.button[notify.AlsoOpenedDeed], nil)
		p.went = slices.DeleteFunc(p.went, func(x string) bool { return x == a.uid })
	case p.refuses && cant != "":
		p.say(cant, nil)
	case p.refuses:
	case over && slices.Contains(p.went, a.uid):
		p.writeDown(a.uid)
	case over && p.draw("not yet "+p.address+a.uid).IntN(2) == 0:
		p.say(cant, nil)
	case over:
		p.postpone(a.button[notify.RainedOffDeed])
	case take != "":
		p.say(take, nil)
	}
}

// visit goes where the person said so, and writes down at once what was found,
// on days of attention.
func (p *person) visit() {
	p.Helper()
	for _, v := range p.mine() {
		if !p.hives.opened(&v, p.today()) {
			continue // somebody else was there
		}
		p.went = append(p.went, v.UID)
		if p.attends() {
			p.writeDown(v.UID)
		}
	}
}

// writeDown records what the person found on a visit, by the buttons of the
// last mail about it: one tap where all was well, else box by box.
func (p *person) writeDown(uid string) {
	p.Helper()
	m := p.latest[uid]
	if m == nil {
		p.Fatalf("%s went on a visit that no mail of theirs is about", p.address)
	}
	a := m.asks[slices.IndexFunc(m.asks, func(x asked) bool { return x.uid == uid })]
	v := p.visitOf(a.club, uid)
	on := p.hives.day[uid]
	found := p.hives.found[uid]
	hard := slices.ContainsFunc(v.Boxes, func(b scheduler.VisitBox) bool { return found[b.BoxID] > scheduler.Light })
	if !hard {
		p.say(a.button[notify.OpenedDeed], url.Values{"on": {on.String()}, "scraped": {"all"}})
	}
	for _, b := range v.Boxes {
		if hard {
			p.say(a.button[notify.RecordDeed], url.Values{
				"box": {strconv.FormatInt(b.BoxID, 10)}, "on": {on.String()}, "scraped": {"all"},
				"joint": {strconv.Itoa(int(found[b.BoxID]))}, "frames": {"-1"},
			})
		}
	}
	p.went = slices.DeleteFunc(p.went, func(x string) bool { return x == uid })
}

var (
	hidden  = regexp.MustCompile(`<input type="hidden" name="(sequence|to|sure)" value="([^"]*)">`)
	offered = regexp.MustCompile(`<input type="radio" name="to" value="([^"]*)"`)
)

// postpone puts a visit on the first day that its page offers.
func (p *person) postpone(path string) {
	p.Helper()
	if days := offered.FindStringSubmatch(p.page(path)); days != nil {
		p.say(path, url.Values{"to": {days[1]}})
	}
}

// page follows an address.
func (p *person) page(path string) string {
	p.Helper()
	w := httptest.NewRecorder()
	p.pages.ServeHTTP(w, httptest.NewRequestWithContext(p.Context(), http.MethodGet, path, nil))
	if w.Code != http.StatusOK {
		p.Fatalf("%s, %s: GET %s: %d %s", p.today(), p.address, path, w.Code, w.Body)
	}
	return w.Body.String()
}

// say follows an address and sends the form that is there, and once more where
// the page asks whether that is meant. A page without that form has said why.
func (p *person) say(path string, fields url.Values) {
	p.Helper()
	if path == "" {
		p.Fatalf("%s, %s: no such button", p.today(), p.address)
	}
	body := p.page(path)
	if !strings.Contains(body, `<form method="post"`) {
		return
	}
	if fields == nil {
		fields = url.Values{}
	}
	for range 3 {
		for _, h := range hidden.FindAllStringSubmatch(body, -1) {
			fields.Set(h[1], html.UnescapeString(h[2]))
		}
		w := httptest.NewRecorder()
		r := httptest.NewRequestWithContext(p.Context(), http.MethodPost, path, strings.NewReader(fields.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		p.pages.ServeHTTP(w, r)
		switch w.Code {
		case http.StatusOK, http.StatusSeeOther:
			p.ledger.taps++
			return
		case http.StatusUnprocessableEntity, http.StatusConflict:
			body = w.Body.String()
			fields.Set("sure", "yes")
		default:
			p.Fatalf("%s, %s: POST %s %v: %d %s", p.today(), p.address, path, fields, w.Code, w.Body)
		}
	}
	p.Fatalf("%s, %s: POST %s %v is asked back again and again: %s", p.today(), p.address, path, fields, body)
}
