package web

import (
	"cmp"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/web/feed"
)

// maxLinks is how many addresses one member may have at a time.
const maxLinks = 30

// linksView is a member's calendar addresses.
type linksView struct {
	Links    []linkLine
	Ended    []linkLine // replaced or revoked
	Apiaries []choice
	New      *newLink
	Form     linkForm
	Problems map[string]text.Text
}

// linkLine is one address without the address itself, which is kept nowhere.
type linkLine struct {
	ID      int64
	Label   string
	Shows   string
	Options []string
	Made    string
	Fetched string
	State   string // why it works no more, or empty
	Live    bool   // it may still be revoked
}

// linkForm is what was asked for.
type linkForm struct {
	Label, Kind                           string
	ApiaryID                              int64
	Confirmed, Alarms, Timed, Far, Places bool
}

// newLink is an address just made: the one time that it can be shown.
type newLink struct {
	Label  string
	Shows  string
	Own    bool // its entries open their visits without signing in
	HTTPS  string
	Webcal template.URL // html/template knows no webcal
	Code   template.HTML
}

func (s *Server) links(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showLinks(w, r, who, http.StatusOK, nil, linkForm{}, nil)
}

func (s *Server) showLinks(w http.ResponseWriter, r *http.Request, who *visitor, status int, made *newLink, asked linkForm, problems map[string]text.Text) error {
	var club *scheduler.Club
	var all []store.Link
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err == nil {
			tx.Last()
			all, err = tx.Links(r.Context(), who.MemberID)
		}
		return err
	})
	if err != nil {
		return err
	}
	if asked.Kind == "" && problems == nil {
		asked.Kind = string(store.MemberLink)
		if len(club.Members) == 1 { // who need not say that they go
			asked.Kind = string(store.ClubLink)
		}
	}
	v := linksView{New: made, Form: asked, Problems: problems}
	say, names := speaker(club, who.MemberID), scheduler.NewNames(club)
	for i := range all {
		line := newLinkLine(&all[i], names, say)
		if line.State == "" {
			v.Links = append(v.Links, line)
		} else {
			v.Ended = append(v.Ended, line)
		}
	}
	for i := range club.Apiaries {
		a := &club.Apiaries[i]
		v.Apiaries = append(v.Apiaries, choice{a.ID, a.Name, a.ID == asked.ApiaryID})
	}
	return s.showTo(w, r, who, club, status, "links", say.Say("page.links.title"), v)
}

func newLinkLine(l *store.Link, names *scheduler.Names, say *text.Speaker) linkLine {
	line := linkLine{
		ID: l.ID, Label: l.Label, Shows: say.Tell(shows(l, names)), Made: stampDay(say, l.CreatedAt), Live: l.RevokedAt.IsZero(),
	}
	for _, o := range []struct {
		on   bool
		word text.Text
	}{
		{l.ConfirmedOnly, text.New("page.links.has-confirmed")},
		{l.Alarms, text.New("page.links.has-alarms")},
		{l.Timed, text.New("page.links.has-hours")},
		{l.Far, text.New("page.links.has-far")},
		{l.ExactPlace, text.New("page.links.has-place")},
	} {
		if o.on {
			line.Options = append(line.Options, say.Tell(o.word))
		}
	}
	switch {
	case !l.RevokedAt.IsZero():
		line.State = say.Say("page.links.revoked", stampDay(say, l.RevokedAt))
	case !l.ReplacedAt.IsZero():
		line.State = say.Say("page.links.replaced", stampDay(say, l.ReplacedAt))
	}
	line.Fetched = say.Say("page.links.never-asked")
	if !l.FetchedAt.IsZero() {
		by := cmp.Or(l.FetchedBy, say.Say("page.links.by-nameless"))
		line.Fetched = say.Say("page.links.asked", int(l.Fetches), stamp(say, l.FetchedAt), by)
	}
	return line
}

// shows says what stands in a calendar.
func shows(l *store.Link, names *scheduler.Names) text.Text {
	switch l.Kind {
	case store.ApiaryLink:
		if l.ApiaryID == 0 {
			return text.New("page.links.shows-removed")
		}
		return text.New("page.links.shows-apiary", names.Apiary(l.ApiaryID))
	case store.ClubLink:
		return text.New("page.links.shows-club")
	}
	return text.New("page.links.shows-yours")
}

// trailOf says it to others, for the trail of changes.
func trailOf(l *store.Link, names *scheduler.Names) text.Text {
	if l.Kind == store.MemberLink {
		return text.New("command.link.own")
	}
	return shows(l, names)
}

func (s *Server) createLink(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	asked := linkForm{
		Label: f.text("label", 80), Kind: f.values.Get("kind"), ApiaryID: f.id("apiary"),
		Confirmed: f.has("confirmed"), Alarms: f.has("alarms"), Timed: f.has("timed"), Far: f.has("far"), Places: f.has("place"),
	}
	asked.Label = strings.Join(strings.Fields(asked.Label), " ")
	kind := store.LinkKind(asked.Kind)
	switch kind {
	case store.MemberLink, store.ClubLink:
		asked.ApiaryID = 0
	case store.ApiaryLink:
		if asked.ApiaryID == 0 {
			f.bad("kind", "form.which-apiary")
		}
	default:
		f.bad("kind", "form.which-calendar")
	}
	options := store.LinkOptions{
		Label: asked.Label, ConfirmedOnly: asked.Confirmed, Alarms: asked.Alarms, Timed: asked.Timed,
		Far: asked.Far && !asked.Confirmed, ExactPlace: asked.Places && kind == store.MemberLink,
	}
	var link *store.Link
	var token string
	var club *scheduler.Club
	if f.ok() {
		err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
			all, err := tx.Links(r.Context(), who.MemberID)
			if err != nil {
				return err
			}
			live := 0
			for i := range all {
				if all[i].RevokedAt.IsZero() && all[i].ReplacedAt.IsZero() {
					live++
				}
			}
			if live >= maxLinks {
				return newProblem(http.StatusConflict, "problem.too-many-addresses", live)
			}
			if club, err = tx.Apiaries(r.Context()); err != nil {
				return err
			}
			link, token, err = tx.CreateLink(r.Context(), kind, who.MemberID, asked.ApiaryID, options)
			if err != nil {
				return err
			}
			return who.note(r, tx, "make calendar address", trailOf(link, scheduler.NewNames(club)))
		})
		if err != nil {
			return err
		}
		return s.showLinks(w, r, who, http.StatusOK, s.newLink(link, token, club), linkForm{}, nil)
	}
	return s.showLinks(w, r, who, http.StatusUnprocessableEntity, nil, asked, f.Problems)
}

// newLink shows an address, in the answer to the request that made it: the
// token is kept nowhere, not even in a session.
func (s *Server) newLink(l *store.Link, token string, club *scheduler.Club) *newLink {
	say := speaker(club, l.MemberID)
	address := s.CalendarAddress(token, club, l)
	_, rest, _ := strings.Cut(address, "://")
	webcal := "webcal://" + rest
	code, err := qrCode(webcal, say.Say("page.links.code"))
	if err != nil {
		s.cfg.Logger.Error("no QR code", "err", err) // the address itself is there
	}
	return &newLink{Label: l.Label, Own: l.Kind == store.MemberLink, Shows: say.Tell(shows(l, scheduler.NewNames(club))), HTTPS: address, Webcal: template.URL(webcal), Code: code}
}

// changeLink rotates or revokes one of the member's own addresses.
func (s *Server) changeLink(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	id, deed := parseID(r.PathValue("id")), r.PathValue("deed")
	if deed != "rotate" && deed != "revoke" {
		return s.nothingHere(w, r)
	}
	var link *store.Link
	var token string
	var say *text.Speaker
	var club *scheduler.Club
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		old, err := tx.Link(r.Context(), id)
		if err != nil {
			return err
		}
		if old.MemberID != who.MemberID {
			return fmt.Errorf("calendar address %d of another member: %w", id, store.ErrNotFound)
		}
		if club, err = tx.Apiaries(r.Context()); err != nil {
			return err
		}
		say = speaker(club, who.MemberID)
		if deed == "revoke" && old.RevokedAt.IsZero() && !f.has("sure") {
			return revokeQuestion(old)
		}
		if err := who.note(r, tx, deed+" calendar address", trailOf(old, scheduler.NewNames(club))); err != nil {
			return err
		}
		if deed == "revoke" {
			return tx.RevokeLink(r.Context(), id)
		}
		link, token, err = tx.RotateLink(r.Context(), id)
		return err
	})
	if q, asks := err.(*question); asks {
		return s.askBack(w, r, who, club, say.Say("page.links.title"), f, q, "/links")
	}
	switch {
	case errors.Is(err, store.ErrGone):
		return newProblem(http.StatusConflict, "problem.replaced")
	case err != nil:
		return err
	case deed == "revoke":
		return s.done(w, r, "/links", notice{Text: say.Say("page.links.said-revoked")})
	}
	return s.showLinks(w, r, who, http.StatusOK, s.newLink(link, token, club), linkForm{}, nil)
}

// CalendarAddress is the address of the calendar that a token opens.
func (s *Server) CalendarAddress(token string, club *scheduler.Club, link *store.Link) string {
	return feed.Address(s.cfg.PublicURL, token, club, link)
}

// revokeQuestion asks whether an address shall end.
func revokeQuestion(l *store.Link) *question {
	if l.Fetches == 0 {
		return &question{text.New("page.question.revoke-unread", device(l.Label))}
	}
	return &question{text.New("page.question.revoke", device(l.Label))}
}

// device names what reads a calendar by the label of its address.
func device(label string) any {
	if label == "" {
		return text.New("page.question.a-device")
	}
	return label
}
