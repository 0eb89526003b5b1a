package web

import (
	"bytes"
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/web/gazetteer"
)

// longestPlace is how many bytes of a question about a place are read.
const longestPlace = 400

// findPlaces answers a page's script with the places that somebody may mean, as
// a part of its form. It knows nothing of any club.
func (s *Server) findPlaces(w http.ResponseWriter, r *http.Request) error {
	typed := strings.TrimSpace(r.FormValue("q"))
	say := text.In(r.FormValue("lang"), text.Millimetres)
	if typed == "" || max(len(typed), len(r.FormValue("near"))) > longestPlace || !isText(typed) {
		return newProblem(http.StatusBadRequest, "problem.unreadable")
	}
	g, err := gazetteer.Shipped()
	if err != nil {
		return err
	}
	found, wrong, err := lookUp(g, typed, r.FormValue("near"), say)
	if err != nil {
		return err
	}
	found.Wrong = wrong
	t, err := s.pages.part("placefound", say)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := t.Execute(&out, found); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "private, max-age=3600")
	_, err = out.WriteTo(w)
	return err
}

// placeSourceView says whose the names of places are.
type placeSourceView struct {
	gazetteer.Source
	Day any // Newest, as the reader says it
}

func (s *Server) placeSource(w http.ResponseWriter, r *http.Request) error {
	g, err := gazetteer.Shipped()
	if err != nil {
		return err
	}
	say := s.reader(r)
	v := placeSourceView{Source: g.Source()}
	if v.Day, err = scheduler.ParseDate(v.Newest); err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, "place-source", view{say: say, Title: say.Say("page.place-source.title"), Page: v})
}
