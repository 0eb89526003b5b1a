package web

import (
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
	names := scheduler.NewNames(club)
	for i := range all {
		line := s.linkLine(&all[i], names)
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
	return s.showTo(w, r, who, club, status, "links", "Calendar addresses", v)
}

func (s *Server) linkLine(l *store.Link, names *scheduler.Names) linkLine {
	line := linkLine{
		ID: l.ID, Label: l.Label, Shows: shows(l, names), Made: l.CreatedAt.UTC().Format("2 Jan 2006"), Live: l.RevokedAt.IsZero(),
	}
	for _, o := range []struct {
		on   bool
		word string
	}{
		{l.ConfirmedOnly, "confirmed visits only"},
		{l.Alarms, "with alarms"},
		{l.Timed, "at your visit hours"},
		{l.Far, "the whole year"},
		{l.ExactPlace, "with the exact place"},
	} {
		if o.on {
			line.Options = append(line.Options, o.word)
		}
	}
	switch {
	case !l.RevokedAt.IsZero():
		line.State = "revoked on " + l.RevokedAt.UTC().Format("2 Jan 2006")
	case !l.ReplacedAt.IsZero():
		line.State = "replaced on " + l.ReplacedAt.UTC().Format("2 Jan 2006") + "; it still says so to whoever asks"
	}
	line.Fetched = "Nothing has asked for it yet."
	if !l.FetchedAt.IsZero() {
		by := l.FetchedBy
		if by == "" {
			by = "a program that does not say its name"
		}
		line.Fetched = fmt.Sprintf("Last asked for on %s UTC by %s; %s so far.",
			l.FetchedAt.UTC().Format("2 Jan 2006, 15:04"), by, count(int(l.Fetches), "time", "times"))
	}
	return line
}

// shows says what stands in a calendar.
func shows(l *store.Link, names *scheduler.Names) string {
	switch l.Kind {
	case store.ApiaryLink:
		return "all visits to " + names.Apiary(l.ApiaryID)
	case store.ClubLink:
		return "all visits of the club"
	}
	return "the visits that you go on"
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
	var names *scheduler.Names
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
			club, err := tx.Apiaries(r.Context())
			if err != nil {
				return err
			}
			names = scheduler.NewNames(club)
			link, token, err = tx.CreateLink(r.Context(), kind, who.MemberID, asked.ApiaryID, options)
			if err != nil {
				return err
			}
			return who.note(r, tx, "make calendar address", "%s", shows(link, names))
		})
		if err != nil {
			return err
		}
		return s.showLinks(w, r, who, http.StatusOK, s.newLink(link, token, names), linkForm{}, nil)
	}
	return s.showLinks(w, r, who, http.StatusUnprocessableEntity, nil, asked, f.Problems)
}

// newLink shows an address, in the answer to the request that made it: the
// token is kept nowhere, not even in a session.
func (s *Server) newLink(l *store.Link, token string, names *scheduler.Names) *newLink {
	address := s.CalendarAddress(token)
	_, rest, _ := strings.Cut(address, "://")
	webcal := "webcal://" + rest
	code, err := qrCode(webcal, "QR code of the calendar address")
	if err != nil {
		s.cfg.Logger.Error("no QR code", "err", err) // the address itself is there
	}
	return &newLink{Label: l.Label, Shows: shows(l, names), HTTPS: address, Webcal: template.URL(webcal), Code: code}
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
	var names *scheduler.Names
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
		names = scheduler.NewNames(club)
		if deed == "revoke" && old.Fetches > 0 && old.RevokedAt.IsZero() && !f.has("sure") {
			return &question{text.New("page.question.revoke", device(old.Label))}
		}
		if err := who.note(r, tx, deed+" calendar address", "%s", shows(old, names)); err != nil {
			return err
		}
		if deed == "revoke" {
			return tx.RevokeLink(r.Context(), id)
		}
		link, token, err = tx.RotateLink(r.Context(), id)
		return err
	})
	if q, asks := err.(*question); asks {
		return s.showTo(w, r, who, club, http.StatusUnprocessableEntity, "sure", "Calendar addresses", sureView{
			Text: q.text, Action: r.URL.Path, Fields: keep(f), Back: "/links",
		})
	}
	switch {
	case errors.Is(err, store.ErrGone):
		return newProblem(http.StatusConflict, "problem.replaced")
	case err != nil:
		return err
	case deed == "revoke":
		return s.done(w, r, "/links", notice{Text: "Revoked: the address answers nobody any more."})
	}
	return s.showLinks(w, r, who, http.StatusOK, s.newLink(link, token, names), linkForm{}, nil)
}

// CalendarAddress is the address of the calendar that a token opens.
func (s *Server) CalendarAddress(token string) string { return feed.Address(s.cfg.PublicURL, token) }

// device names what reads a calendar by the label of its address.
func device(label string) any {
	if label == "" {
		return text.New("page.question.a-device")
	}
	return label
}
