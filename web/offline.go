package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"

	"pryday/scheduler"
	"pryday/store"
)

// What of the coming visits a phone keeps for a place without a signal.
const (
	offlineDays   = 21
	offlineVisits = 8
	offlinePages  = 60
)

// forPhone reports whether a page is fetched to be kept on the phone, not to be
// looked at now: what is said only once is then not said.
func forPhone(r *http.Request) bool { return r.Header.Get("Pryday-Keep") != "" }

// offlineList names the pages that work without a signal: home, the coming
// visits of somebody with their sheets, and the form of each of their hives.
func (s *Server) offlineList(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var visits []store.VisitRecord
	var stacks *scheduler.Club
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) error {
		all, err := tx.Overview(r.Context(), s.earliest()-scheduler.Date(offlineDays))
		if err != nil {
			return err
		}
		visits = offlineOf(all, who, all.Club.Today(s.now()))
		tx.Last()
		stacks, _, err = tx.Stacks(r.Context(), all.Club, visits, nil, 0)
		return err
	})
	if err != nil {
		return err
	}
	paths := []string{"/"}
	for i := range visits {
		v := &visits[i].Visit
		paths = append(paths, visitPath(v.UID), visitPath(v.UID)+"/sheet", visitPath(v.UID)+"/record")
		a := stacks.Apiary(v.ApiaryID)
		if a == nil {
			continue
		}
		for _, h := range hivesOf(a, v) {
			paths = append(paths, visitPath(v.UID)+"/record?"+url.Values{"hive": {itoa(h)}}.Encode())
		}
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "private, no-store")
	return json.NewEncoder(w).Encode(map[string]any{"who": who.MemberID, "pages": paths[:min(len(paths), offlinePages)]})
}

// offlineOf chooses the visits: those that somebody makes and of the apiaries
// that they look after, then those that nobody makes yet; the soonest first.
func offlineOf(all *store.Overview, who *visitor, today scheduler.Date) []store.VisitRecord {
	var mine, nobodys []store.VisitRecord
	for _, v := range all.Visits {
		a := all.Club.Apiary(v.ApiaryID)
		switch {
		case v.On > today+offlineDays || v.On < today-scheduler.Date(all.Club.Rules.AnswerDays):
		case slices.Contains(v.Who, who.MemberID) || a != nil && slices.Contains(a.Keepers, who.MemberID):
			mine = append(mine, v)
		case len(v.Who) == 0:
			nobodys = append(nobodys, v)
		}
	}
	out := append(mine, nobodys...)
	return out[:min(len(out), offlineVisits)]
}

// hivesOf lists the hives of which a visit opens a box, in the order of the
// apiary.
func hivesOf(a *scheduler.Apiary, v *scheduler.Visit) []int64 {
	var out []int64
	for i := range a.Hives {
		if slices.ContainsFunc(a.Hives[i].Boxes, func(b scheduler.Box) bool { return v.Lists(b.ID) }) {
			out = append(out, a.Hives[i].ID)
		}
	}
	return out
}

// noSignal is what stands in for a page that the phone has not kept.
func (s *Server) noSignal(w http.ResponseWriter, r *http.Request) error {
	say := s.reader(r)
	return s.show(w, r, http.StatusOK, "no-signal", view{Title: say.Say("page.no-signal.title"), say: say})
}
