package web

import (
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// fitView says how well the dates fit: what was said before each opening against
// what was found.
type fitView struct {
	Record    text.Text
	Any       bool
	Chart     *fitChart
	Hard      fitTable
	Stuck     fitTable
	Known     fitTable // by how many openings of the box were on record
	Trust     text.Text
	Corrected text.Text
	Cost      text.Text
}

// fitTable is the record of hard or of stuck openings, by tenths of what was said.
type fitTable struct {
	Head  text.Text // of the first column
	Rows  []fitRow
	Score text.Text
}

type fitRow struct {
	Name                   text.Text
	Openings               int
	Said, Found, Low, High string
	Off                    bool // what was said lies outside of what was found
}

func (s *Server) fit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		club, err = tx.Club(r.Context())
		return err
	})
	if err != nil {
		return err
	}
	say := speaker(club, who.MemberID)
	view := newFitView(club, club.Today(s.now()), say)
	return s.showTo(w, r, who, club, http.StatusOK, "fit", say.Say("page.fit.title"), view)
}

func newFitView(club *scheduler.Club, today scheduler.Date, say *text.Speaker) fitView {
	record := scheduler.Outcomes(club)
	cost := scheduler.CalendarCost(club, today-scheduler.HorizonDays+1, today)
	v := fitView{
		Record: text.New("page.fit.nothing", scheduler.LateDays),
		Cost: text.New("page.fit.cost", text.New("page.records.visits", cost.Visits), text.New("command.import.openings", cost.Openings),
			text.Number{Value: cost.Hours}, text.Number{Value: cost.Prying, Decimals: 1}, cost.Hard, cost.Stuck),
	}
	if len(record) == 0 {
		return v
	}
	v.Any = true
	v.Record = text.New("page.fit.record", len(record), record[0].On, record[len(record)-1].On)
	hard, stuck := scheduler.Reliable(record, scheduler.Hard), scheduler.Reliable(record, scheduler.Stuck)
	v.Hard, v.Stuck = newFitTable(&hard, say), newFitTable(&stuck, say)
	v.Chart = newFitChart(&hard, say)
	known := scheduler.Knowing(record)
	v.Known.Head = text.New("page.fit.known-head")
	for i, k := range known {
		if k.Share.Openings > 0 {
			name := text.New("command.import.openings", k.Openings)
			if i == len(known)-1 {
				name = text.New("page.fit.known-more", k.Openings)
			}
			v.Known.Rows = append(v.Known.Rows, newFitRow(name, k.Share, say))
		}
	}
	v.Trust = text.New("command.calibration.no-trust")
	if n := scheduler.TrustedFrom(known); n >= 0 {
		v.Trust = text.New("command.calibration.trust", n)
	}
	v.Corrected = text.New("command.calibration.as-made", scheduler.RecalibrateFrom)
	if c := club.Recalibration; c.Corrects() {
		v.Corrected = text.New("command.calibration.corrected", c.MadeOn, c.Openings)
	}
	return v
}

func newFitTable(r *scheduler.Reliability, say *text.Speaker) fitTable {
	out := fitTable{Head: text.New("page.fit.said"), Score: text.New("command.calibration.score", digits(r.Brier), digits(r.Always), digits(r.Gap))}
	for t, s := range r.Tenths {
		if s.Openings > 0 {
			out.Rows = append(out.Rows, newFitRow(text.New("page.fit.tenth", 10*t, 10*t+10), s, say))
		}
	}
	return out
}

func digits(x float64) text.Number { return text.Number{Value: x, Decimals: 3} }

func newFitRow(name text.Text, s scheduler.Share, say *text.Speaker) fitRow {
	return fitRow{
		Name: name, Openings: s.Openings, Said: percent(say, s.Said), Found: percent(say, s.Found()),
		Low: percent(say, s.Low), High: percent(say, s.High), Off: !s.Says(),
	}
}

func percent(say *text.Speaker, p float64) string {
	return say.Say("page.fit.percent", text.Number{Value: 100 * p})
}
