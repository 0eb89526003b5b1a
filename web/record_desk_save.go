package web

import (
	"net/http"
	"regexp"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// What cells of the grid take beside a digit.
const (
	deskShut     = "x" // the joint of a box that was left shut
	deskNotTried = "-" // frames
)

// degreeDigit is what a cell for a degree holds.
var degreeDigit = regexp.MustCompile(`^[0-4]$`)

// saveDesk saves a grid whole or not at all. Where anything of it is in doubt it
// comes back as it was filled in.
func (s *Server) saveDesk(read func(*http.Request, *visitor) (*recorder, error)) func(http.ResponseWriter, *http.Request, *visitor) error {
	return func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		f, err := readForm(w, r)
		if err != nil {
			return err
		}
		return s.takeDesk(w, r, f, func() (*recorder, error) { return read(r, who) })
	}
}

func (s *Server) takeDesk(w http.ResponseWriter, r *http.Request, f *form, read func() (*recorder, error)) error {
	rec, err := read()
	if err != nil {
		return err
	}
	if err := rec.mine(f); err != nil {
		return err
	}
	if on := f.date("on"); on.Recordable(rec.p.today) {
		rec.on = on
	} else {
		f.bad("on", "form.not-that-day", cut(f.values.Get("on")), rec.p.today)
	}
	rec.readOpener(f)
	answers, err := rec.deskAnswers(f)
	if err != nil {
		return err
	}
	doubt := rec.inDoubt(answers, f)
	if doubt || len(answers) == 0 {
		return s.renderDesk(w, r, rec, http.StatusUnprocessableEntity, f, answers)
	}
	openings := openingsOf(answers, f)
	out, err := s.record(r.Context(), rec, openings)
	if err != nil {
		return err
	}
	if faster(answers, out) {
		f.values.Del("sure") // of what was asked before
		return s.takeDesk(w, r, f, read)
	}
	to := "/apiary/" + itoa(rec.p.apiary.ID)
	if rec.visit != nil {
		to = visitPath(rec.visit.UID)
	}
	return s.done(w, r, to, notice{Text: rec.p.say.Say("page.desk.saved", len(openings), rec.p.apiary.Name, text.Full(rec.on)), Lines: rec.p.newDates(out, 6)})
}

// deskAnswers reads what the grid says, box by box as the sheet stands. A row in
// which anything was typed is read. Of a box that has left the apiary it is an
// error: nothing is dropped in silence.
func (rec *recorder) deskAnswers(f *form) ([]boxAnswers, error) {
	left := &scheduler.Hive{}
	for i := range rec.p.apiary.Hives {
		left.Boxes = append(left.Boxes, rec.p.apiary.Hives[i].Boxes...)
	}
	if _, err := rec.moved(left, f); err != nil { // all that stand here are read below
		return nil, err
	}
	keys := &form{values: inKeysOf(f), Problems: f.Problems}
	var out []boxAnswers
	for _, h := range rec.p.sheetOrder(rec.visit, rec.on) {
		for i := range slices.Backward(h.Boxes) {
			b := &h.Boxes[i]
			sub := rec.boxForm(keys, b.ID)
			if !saysAnything(sub) && !sub.has("scraped") && !sub.has("frames") {
				continue
			}
			for field, sign := range map[string]string{"joint": leftShut, "frames": notTried} {
				if typed := sub.values.Get(field); typed != "" && typed != sign && !degreeDigit.MatchString(typed) {
					sub.bad(field, "form.no-degree", cut(typed))
				}
			}
			out = append(out, rec.readBox(b, sub, keys))
		}
	}
	return out, nil
}

// inKeysOf are the fields of a grid as those of the record form: the letters and
// signs of its cells stand for answers there.
func inKeysOf(f *form) map[string][]string {
	out := make(map[string][]string, len(f.values))
	for name, values := range f.values {
		if boxField.MatchString(name) && len(values) > 0 {
			typed := strings.ToLower(strings.TrimSpace(values[0]))
			switch _, field, _ := strings.Cut(name, "-"); {
			case field == "joint" && typed == deskShut:
				values = []string{leftShut}
			case field == "frames" && typed == deskNotTried:
				values = []string{notTried}
			case field == "joint" || field == "frames":
				values = []string{typed}
			}
		}
		out[name] = values
	}
	return out
}
