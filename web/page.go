package web

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"path"
	"strings"

	"pryday/store"
)

//go:embed pages/*.html
var pageFiles embed.FS

//go:embed assets/*
var assetFiles embed.FS

// pages are the parsed templates by name, each with the layout around it.
type pages map[string]*template.Template

// pageNames declares every page; loading fails on one without a template.
var pageNames = []string{"home", "sign-in", "confirm", "problem"}

func loadPages() (pages, error) {
	all := pages{}
	for _, name := range pageNames {
		t, err := template.ParseFS(pageFiles, "pages/layout.html", "pages/"+name+".html")
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
	Member  string
	DemoDay string
	Style   string
	Page    any
}

// show renders a page whole before the first byte goes out.
func (s *Server) show(w http.ResponseWriter, status int, name string, v view) error {
	v.Style = s.assets.style
	if s.cfg.Demo {
		v.DemoDay = s.today("UTC").Format("Monday 2 January 2006")
	}
	var out bytes.Buffer
	if err := s.pages[name].ExecuteTemplate(&out, "layout", v); err != nil {
		return fmt.Errorf("render page %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "private, no-store")
	w.WriteHeader(status)
	_, err := out.WriteTo(w)
	return err
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
		var p *problem
		switch {
		case errors.As(err, &p):
		case errors.Is(err, store.ErrNotFound):
			p = &problem{http.StatusNotFound, "Nothing here", "This record does not exist, or it belongs to another club."}
		case errors.Is(err, store.ErrVisitChanged):
			p = &problem{http.StatusConflict, "This visit has changed", "Somebody changed it since you opened the page. Look at it again and then decide."}
		default:
			s.cfg.Logger.Error("page failed", "route", r.Pattern, "err", err)
			p = &problem{http.StatusInternalServerError, "That went wrong", "Nothing was saved. Try again in a minute; if it fails again, tell whoever runs this service."}
		}
		if err := s.show(w, p.status, "problem", view{Title: p.title, Page: struct{ Text string }{p.text}}); err != nil {
			s.cfg.Logger.Error("page failed", "route", r.Pattern, "err", err)
		}
	})
}

// assets are the files that pages link to, under names that change with
// their content, so that browsers may keep them for ever.
type assets struct {
	files map[string][]byte
	style string
}

func loadAssets() assets {
	a := assets{files: map[string][]byte{}}
	b, err := assetFiles.ReadFile("assets/style.css")
	if err != nil {
		panic(err) // embedded: it cannot be missing
	}
	a.style = "style." + fingerprint(b) + ".css"
	a.files[a.style] = b
	return a
}

var assetTypes = map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}

func (a assets) serve(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	b, ok := a.files[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", assetTypes[strings.ToLower(path.Ext(name))])
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	_, _ = w.Write(b)
}
