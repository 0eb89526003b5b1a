package web

import (
	"encoding/json"
	"net/http"
	"slices"
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

// before says which other hive was saved before the form went on to hive h, and
// when its boxes are due next; nil for none.
func (n *savedNow) before(rec *recorder, h *scheduler.Hive) *hiveSaved {
	if n.On != rec.on {
		return nil
	}
	var out *hiveSaved
	for i := range rec.p.apiary.Hives {
		other := &rec.p.apiary.Hives[i]
		for _, b := range slices.Backward(other.Boxes) {
			was, ok := n.Was[b.ID]
			if !ok || other.ID == h.ID {
				continue
			}
			if out == nil {
				out = &hiveSaved{Name: rec.p.say.Hive(other.Name), Path: rec.address(other.ID)}
			}
			if s := rec.p.states[b.ID]; s != nil && s.Due != 0 {
				out.Lines = append(out.Lines, rec.p.dueNext(other.Name, b.Name, s.Due, was))
			}
		}
	}
	return out
}

// next is the first hive of the form, but for one, with a box that is neither
// recorded nor among some; nil for none, and where one of these was hard to
// open and its gaps are worth measuring while the hive is open.
func (rec *recorder) next(after int64, openings []store.BoxOpening) *scheduler.Hive {
	for _, o := range openings {
		if o.Opening.Difficulty() >= scheduler.Hard && !o.Opening.LeftShut && len(o.Opening.Gaps) == 0 {
			return nil
		}
	}
	left := func(h *scheduler.Hive) bool {
		return slices.ContainsFunc(h.Boxes, func(b scheduler.Box) bool {
			saved := slices.ContainsFunc(openings, func(o store.BoxOpening) bool { return o.BoxID == b.ID })
			return rec.planned(b.ID) && !saved && b.OpeningOn(rec.on) == nil
		})
	}
	if here := rec.p.apiary.Hive(after); rec.visit == nil || here == nil || left(here) {
		return nil
	}
	for i := range rec.p.apiary.Hives {
		if h := &rec.p.apiary.Hives[i]; left(h) {
			return h
		}
	}
	return nil
}

// saved goes back to the form, which then says what the answers changed; to
// that of the next hive, where there is nothing left to do at this one.
func (s *Server) saved(w http.ResponseWriter, r *http.Request, rec *recorder, hive int64, out *store.Recorded, next *scheduler.Hive, boxes ...int64) error {
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
	to := rec.address(hive)
	if len(boxes) > 0 {
		to += "#box-" + itoa(boxes[0])
	}
	if next != nil {
		to = rec.address(next.ID)
	}
	return goOn(w, r, to)
}

// goOn leads from a form that was saved to where it goes on.
func goOn(w http.ResponseWriter, r *http.Request, to string) error {
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
	if forPhone(r) {
		return &savedNow{Was: map[int64]scheduler.Date{}}
	}
	text := s.sessions.PopString(r.Context(), keySaved)
	if text == "" || json.Unmarshal([]byte(text), &n) != nil || time.Since(n.At) > savedFor || n.Was == nil {
		return &savedNow{Was: map[int64]scheduler.Date{}}
	}
	return &n
}
