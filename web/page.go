package web

import (
	"bytes"
	"cmp"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"pryday/scheduler"
	"pryday/store"
)

//go:embed pages/*.html pages/parts/*.html
var pageFiles embed.FS

//go:embed assets/*
var assetFiles embed.FS

// pages are the parsed templates by name, each with the layout around it.
type pages map[string]*template.Template

// loadPages reads every page, with the parts that pages share.
func loadPages() (pages, error) {
	names, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		return nil, err
	}
	all := pages{}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		t, err := template.New(name).Option("missingkey=error").ParseFS(pageFiles, "pages/parts/*.html", file)
		if err != nil {
			return nil, fmt.Errorf("page %s: %w", name, err)
		}
		all[name] = t
	}
	return all, nil
}

// view is what the layout shows, and the page inside it.
type view struct {
	Title   string
	Club    string
	Member  string // empty for a stranger
	Clubs   []store.Membership
	ClubID  int64
	Leads   bool // an organiser
	Here    string
	DemoDay string
	Style   string
	Script  string
	Notice  *notice
	Page    any

	today scheduler.Date // of the club; zero for none's
}

// show renders a page whole before the first byte goes out.
func (s *Server) show(w http.ResponseWriter, status int, name string, v view) error {
	v.Style, v.Script = s.assets.style, s.assets.script
	if s.cfg.Demo {
		v.DemoDay = cmp.Or(v.today, new(scheduler.Club).Today(s.now())).Format("Monday 2 January 2006")
	}
	t := s.pages[name]
	if t == nil {
		return fmt.Errorf("there is no page %s", name)
	}
	var out bytes.Buffer
	if err := t.ExecuteTemplate(&out, "layout", v); err != nil {
		return fmt.Errorf("render page %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "private, no-store")
	w.WriteHeader(status)
	_, err := out.WriteTo(w)
	return err
}

// showTo renders a page for a member, with the navigation around it.
func (s *Server) showTo(w http.ResponseWriter, r *http.Request, who *visitor, club *scheduler.Club, status int, name, title string, page any) error {
	v := view{
		Title: title, Club: club.Name, ClubID: club.ID, Page: page,
		Leads: who.Role == scheduler.Organiser, Here: section(r.URL.Path), today: club.Today(s.now()),
	}
	if who.person != nil {
		v.Member = scheduler.NewNames(club).Member(who.MemberID)
		v.Clubs = who.clubs
		v.Notice = s.notice(r)
	}
	return s.show(w, status, name, v)
}

// section is the part of the navigation that a path belongs to.
func section(path string) string {
	first, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	switch first {
	case "hive", "apiary", "season", "opening", "box":
		return "apiaries"
	case "visit":
		return ""
	}
	return first
}

// problem is an answer that a person can act on.
type problem struct {
	status int
	title  string
	text   string
}

func (p *problem) Error() string { return p.title + ": " + p.text }

func (s *Server) nothingHere(http.ResponseWriter, *http.Request) error {
	return &problem{http.StatusNotFound, "Nothing here", "No page has this address."}
}

// answer turns a handler's error into a page.
func (s *Server) answer(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		err := h(w, r)
		if err == nil {
			return
		}
		p := problemOf(err)
		if p == nil && r.Context().Err() != nil {
			return // whoever asked went away
		}
		if p == nil {
			s.cfg.Logger.Error("page failed", "route", r.Pattern, "err", err)
			p = &problem{http.StatusInternalServerError, "That went wrong", "Nothing was saved. Try again in a minute; if it fails again, tell whoever runs this service."}
		}
		if err := s.show(w, p.status, "problem", view{Title: p.title, Page: struct{ Text string }{p.text}}); err != nil {
			s.cfg.Logger.Error("page failed", "route", r.Pattern, "err", err)
		}
	})
}

// problemOf says what a person can do about an error; nil when it is ours.
func problemOf(err error) *problem {
	var p *problem
	switch {
	case errors.As(err, &p):
		return p
	case errors.Is(err, store.ErrNotFound):
		return &problem{http.StatusNotFound, "Nothing here", "This record does not exist, or it belongs to another club."}
	case errors.Is(err, store.ErrVisitChanged):
		return &problem{http.StatusConflict, "This visit has changed", "Somebody changed it since you opened the page. Nothing was done: look at it again and then decide."}
	case errors.Is(err, store.ErrStackChanged):
		return &problem{http.StatusConflict, "This stack has changed", "Somebody changed it since you opened the page. Nothing was done: look at it again and then decide."}
	case errors.Is(err, store.ErrSuperseded):
		return &problem{http.StatusConflict, "Corrected already", "Somebody corrected this opening before you. Nothing was saved: look at it again."}
	case errors.Is(err, store.ErrStandstill):
		return &problem{http.StatusConflict, "The apiary is at a standstill", "While the order holds, no box or hive leaves or reaches this apiary. Whoever gave the order lifts it."}
	case errors.Is(err, store.ErrBackwards):
		return &problem{http.StatusUnprocessableEntity, "Not before its last move", "A box moves forward in time only: choose a day on or after its last move."}
	case errors.Is(err, store.ErrExists):
		return &problem{http.StatusConflict, "There is one already", "Another one has this name already. Choose a different name."}
	case errors.Is(err, store.ErrNotEmpty):
		return &problem{http.StatusConflict, "Not empty", "Something still stands there. Move it first."}
	case errors.Is(err, store.ErrLastOrganiser):
		return &problem{http.StatusConflict, "The last organiser", "A club keeps at least one organiser. Make somebody else an organiser first."}
	}
	return nil
}
