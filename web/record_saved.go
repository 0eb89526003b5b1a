package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

// savedNow is what the session remembers until the form is shown again: which
// boxes were saved, and when they were due before.
type savedNow struct {
	On  scheduler.Date           // the form's day
	At  time.Time                // of the last one
	Was map[int64]scheduler.Date // by box; zero when it had no due day or nothing changed
}

// savedFor is how long that is worth telling.
const savedFor = 10 * time.Minute

// of returns when a box was due before, if it was saved on the form's day.
func (n *savedNow) of(rec *recorder, box int64) (was scheduler.Date, ok bool) {
	if n.On != rec.on {
		return 0, false
	}
	was, ok = n.Was[box]
	return was, ok
}

// saved goes back to the form, which then says what the answers changed.
func (s *Server) saved(w http.ResponseWriter, r *http.Request, rec *recorder, hive int64, out *store.Recorded, boxes ...int64) error {
	n := s.takeSaved(r) // records that waited for a signal come one after the other
	if n.On != rec.on {
		n.Was = map[int64]scheduler.Date{}
	}
	n.On, n.At = rec.on, time.Now()
	for _, b := range boxes {
		if !slices.Contains(out.Yielded, b) {
			if state, planned := out.Before[b]; planned || n.Was[b] == 0 {
				n.Was[b] = state.Due
			}
		}
	}
	b, err := json.Marshal(n)
	if err != nil {
		return err
	}
	s.sessions.Put(r.Context(), keySaved, string(b))
	q := url.Values{"on": {rec.on.String()}, "hive": {strconv.FormatInt(hive, 10)}}
	to := rec.base + "?" + q.Encode() + "#box-" + strconv.FormatInt(boxes[0], 10)
	if r.Header.Get("Prefer") == "return=minimal" { // RFC 7240: the script goes there itself
		w.Header().Set("Location", to)
		w.WriteHeader(http.StatusCreated)
		return nil
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// takeSaved takes what was saved since the form was last shown.
func (s *Server) takeSaved(r *http.Request) *savedNow {
	var n savedNow
	text := s.sessions.PopString(r.Context(), keySaved)
	if text == "" || json.Unmarshal([]byte(text), &n) != nil || time.Since(n.At) > savedFor || n.Was == nil {
		return &savedNow{Was: map[int64]scheduler.Date{}}
	}
	return &n
}
