package web

import (
	"bytes"
	"net/http"
	"reflect"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// rulesSeason is the year at one apiary by a set of rules.
type rulesSeason struct {
	Apiary string
	Year   yearStrip
}

// rulesSeason draws the year at the club's first apiary by other rules than its
// own; nil where it has no apiary.
func (s *Server) rulesSeason(club *scheduler.Club, rules *scheduler.Rules, say *text.Speaker) *rulesSeason {
	if len(club.Apiaries) == 0 {
		return nil
	}
	a := &club.Apiaries[0]
	p := &apiaryRecords{club: club, apiary: a, season: scheduler.NewSeason(a.Place(), rules), say: say, today: a.Today(s.now())}
	year := p.newYearStrip(nil, nil)
	year.Label = say.Say("page.year.label-stages", year.stages()) // visits are not shown, whether there are any or not
	return &rulesSeason{a.Name, year}
}

// compareSeasons shows the year as it is and as it would be, where that differs.
func (v *previewView) compareSeasons(now, then *rulesSeason) {
	if now != nil && !reflect.DeepEqual(now, then) {
		v.SeasonNow, v.SeasonThen = now, then
	}
}

// drawSeason sends the year by the rules of the form as they stand, for a page
// that moves it with the dates while they are typed.
func (s *Server) drawSeason(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	rules := rulesOf(f)
	if !f.ok() {
		return newProblem(http.StatusUnprocessableEntity, "problem.not-saved", text.New("page.rules.cannot-be"))
	}
	var club *scheduler.Club
	if err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		tx.Last()
		club, err = tx.Apiaries(r.Context())
		return err
	}); err != nil {
		return err
	}
	say := speaker(club, who.MemberID)
	season := s.rulesSeason(club, &rules, say)
	if season == nil {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	t, err := s.pages.part("yearstrip", say)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := t.Execute(&out, season.Year); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "private, no-store")
	_, err = out.WriteTo(w)
	return err
}
