package web

import (
	"net/http"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
)

// ticking is what a form says of a visit's checklist.
type ticking struct {
	Done, Undone []scheduler.Tick
}

func (t *ticking) changes() bool { return len(t.Done)+len(t.Undone) > 0 }

// readTicks reads which steps were ticked since the form was shown, and which
// taken back: "tick" has those that are ticked now, "was" those that were then.
// Of a box or a hive that has left the apiary it is an error: nothing is dropped in
// silence.
func (rec *recorder) readTicks(f *form) error {
	if rec.visit == nil {
		return nil
	}
	now, was := f.values["tick"], strings.Fields(f.values.Get("was"))
	read := func(keys, but []string) (out []scheduler.Tick, err error) {
		for _, key := range keys {
			if slices.Contains(but, key) {
				continue
			}
			t, known := rec.p.tickOf(key)
			if !known {
				return nil, newProblem(http.StatusConflict, "problem.tick-gone", cut(key), rec.p.apiary.Name)
			}
			t.By, t.On = rec.who.MemberID, rec.on
			out = append(out, t)
		}
		return out, nil
	}
	var err error
	if rec.ticks.Done, err = read(now, was); err == nil {
		rec.ticks.Undone, err = read(was, now)
	}
	return err
}

// tickOf reads the key of a checklist's item: apiary/step, hive/1/step, or
// hive/1/box/2/step.
func (p *apiaryRecords) tickOf(key string) (t scheduler.Tick, known bool) {
	parts := strings.Split(key, "/")
	t.Step = scheduler.Step(parts[len(parts)-1])
	known = slices.Contains(scheduler.Steps, t.Step)
	switch {
	case len(parts) == 2 && parts[0] == "apiary":
	case len(parts) == 3 && parts[0] == "hive":
		t.HiveID = parseID(parts[1])
		known = known && p.apiary.Hive(t.HiveID) != nil
	case len(parts) == 5 && parts[0] == "hive" && parts[2] == "box":
		t.BoxID = parseID(parts[3])
		_, box := p.apiary.Box(t.BoxID)
		known = known && box != nil
	default:
		known = false
	}
	return t, known
}

// stepsView are steps of a checklist to tick in a form.
type stepsView struct {
	Items []checkItem
	Was   string // keys of those that are ticked, when the form was shown
	Done  int
}

// stepsOf are the steps of the visit's checklist that the form of a hive asks
// for: its own, and those of the whole apiary. Those of a box are its answers. f is
// the form that comes back, or nil.
func (rec *recorder) stepsOf(h *scheduler.Hive, f *form) *stepsView {
	if rec.visit == nil {
		return nil
	}
	out := &stepsView{}
	var was []string
	for _, it := range advice.Checklist(rec.p.club, rec.visit, rec.p.season.Stage(rec.visit.On)) {
		if it.BoxID != 0 || it.HiveID != 0 && it.HiveID != h.ID {
			continue
		}
		item := rec.p.checkItem(rec.visit, it)
		if item.Done {
			was = append(was, item.Key)
		}
		if f != nil {
			item.Done = slices.Contains(f.values["tick"], item.Key)
		}
		if item.Done {
			out.Done++
		}
		out.Items = append(out.Items, item)
	}
	out.Was = strings.Join(was, " ")
	if f != nil {
		out.Was = f.values.Get("was")
	}
	if len(out.Items) == 0 {
		return nil
	}
	return out
}

// saveTicks keeps the ticks of the checklist of a visit's page.
func (s *Server) saveTicks(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	rec, err := s.visitRecorder(r, who)
	if err != nil {
		return err
	}
	if err := rec.mine(f); err != nil {
		return err
	}
	if on := f.date("on"); on.Recordable(rec.p.today) {
		rec.on = on
	}
	if err := rec.readTicks(f); err != nil {
		return err
	}
	if rec.ticks.changes() {
		if _, err := s.record(r.Context(), rec, nil); err != nil {
			return err
		}
	}
	return goOn(w, r, visitPath(rec.visit.UID)+"#checklist")
}
