package web

import (
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// boxAnswers is what the form of a hive says of one box.
type boxAnswers struct {
	box      *scheduler.Box
	form     *form // its fields
	opening  scheduler.Opening
	photos   []store.NewPhoto
	question text.Text
}

// fieldsOf begins the names of the fields of one box in the form of its hive.
func fieldsOf(box int64) string { return "b" + itoa(box) + "-" }

// saveStack saves the form of one hive. Where anything of it is in doubt
// nothing is saved, and the form comes back as it was filled in.
func (s *Server) saveStack(w http.ResponseWriter, r *http.Request, rec *recorder, f *form, read func() (*recorder, error)) error {
	h := rec.p.apiary.Hive(f.id("hive"))
	if h == nil || rec.hive != nil && h.ID != rec.hive.ID {
		return fmt.Errorf("hive %d of the form: %w", f.id("hive"), store.ErrNotFound)
	}
	if f.has("fill") {
		return s.renderRecord(w, r, rec, h.ID, http.StatusOK, rec.filled(h, f))
	}
	if err := rec.readTicks(f); err != nil {
		return err
	}
	answers := rec.answers(h, f)
	moved, err := rec.moved(h, f)
	if err != nil {
		return err
	}
	answers = append(answers, moved...)
	if rec.inDoubt(answers, f) {
		return s.renderRecord(w, r, rec, h.ID, http.StatusUnprocessableEntity, rec.again(h, f, answers))
	}
	openings := openingsOf(answers, f)
	if f.has("whole") {
		openings = append(openings, rec.noTrouble(h, f, answers)...)
	}
	boxes := make([]int64, len(openings))
	for i, o := range openings {
		boxes[i] = o.BoxID
	}
	if len(openings) == 0 && !(rec.ticks.changes() && !f.has("whole")) {
		if boxes = recordedOn(h, rec.on); f.has("whole") && len(boxes) > 0 { // a second tap
			return s.saved(w, r, rec, h.ID, &store.Recorded{}, rec.next(h.ID, nil), boxes...)
		}
		asked := rec.again(h, f, nil)
		asked.Nothing = true
		return s.renderRecord(w, r, rec, h.ID, http.StatusUnprocessableEntity, asked)
	}
	out, err := s.record(r.Context(), rec, openings, photosOf(answers)...)
	if err != nil {
		return err
	}
	if faster(answers, out) {
		if rec, err = read(); err != nil {
			return err
		}
		rec.on = openings[0].Opening.On
		f.values.Del("sure") // of what was asked before
		return s.saveStack(w, r, rec, f, read)
	}
	return s.saved(w, r, rec, h.ID, out, rec.next(h.ID, openings), boxes...)
}

// inDoubt reports whether something of the answers is wrong, or has to be asked
// about, which it notes with them.
func (rec *recorder) inDoubt(answers []boxAnswers, f *form) bool {
	doubt := !f.ok()
	for i := range answers {
		a := &answers[i]
		if a.form.ok() && !f.has("sure") && !late(f) {
			a.question = rec.unusual(a.box, &a.opening)
		}
		doubt = doubt || !a.form.ok() || !a.question.IsZero()
	}
	return doubt
}

// openingsOf are the openings that answers come to.
func openingsOf(answers []boxAnswers, f *form) []store.BoxOpening {
	openings := make([]store.BoxOpening, 0, len(answers))
	for _, a := range answers {
		openings = append(openings, store.BoxOpening{BoxID: a.box.ID, Opening: a.opening, Yields: !late(f)})
	}
	return openings
}

// faster reports whether somebody else recorded one of the boxes meanwhile, so
// that it has to be asked about.
func faster(answers []boxAnswers, out *store.Recorded) bool {
	return slices.ContainsFunc(answers, func(a boxAnswers) bool { return slices.Contains(out.Yielded, a.box.ID) })
}

// answers reads what the form of a hive says, from the top down; boxes of which
// it says nothing are left out.
func (rec *recorder) answers(h *scheduler.Hive, f *form) []boxAnswers {
	var out []boxAnswers
	for _, b := range slices.Backward(h.Boxes) {
		if a, said := rec.answersOf(&b, f); said {
			out = append(out, a)
		}
	}
	return out
}

// answersOf reads what the form of a hive says of one box, if anything.
func (rec *recorder) answersOf(b *scheduler.Box, f *form) (a boxAnswers, said bool) {
	sub := rec.boxForm(f, b.ID)
	if !saysAnything(sub) && !rec.onlyPhotos(sub, f, b) {
		return a, false
	}
	return rec.readBox(b, sub, f), true
}

// readBox reads the fields of one box, sub, in the form f of many.
func (rec *recorder) readBox(b *scheduler.Box, sub, f *form) boxAnswers {
	a := boxAnswers{box: b, form: sub, opening: rec.opening(sub)}
	rec.sayOpener(b, &a.opening)
	a.photos = rec.photos(sub, b.ID, &a.opening)
	if !sub.has("scraped") && !a.opening.LeftShut { // said once for all
		a.opening.Scraped = scraped(f)
	}
	return a
}

var boxField = regexp.MustCompile(`^b([0-9]+)-`)

// moved reads what a form says of boxes that have left its hive since it was
// shown. Of one that has left the apiary it is an error: nothing is dropped in
// silence.
func (rec *recorder) moved(h *scheduler.Hive, f *form) ([]boxAnswers, error) {
	boxes := map[int64]bool{}
	for name := range f.values {
		if m := boxField.FindStringSubmatch(name); m != nil {
			boxes[parseID(m[1])] = true
		}
	}
	for i := range h.Boxes {
		delete(boxes, h.Boxes[i].ID)
	}
	var out []boxAnswers
	for _, id := range slices.Sorted(maps.Keys(boxes)) {
		if !saysAnything(rec.boxForm(f, id)) {
			continue
		}
		_, b := rec.p.apiary.Box(id)
		if b == nil {
			return nil, newProblem(http.StatusConflict, "problem.box-gone", rec.p.apiary.Name)
		}
		a, _ := rec.answersOf(b, f)
		out = append(out, a)
	}
	return out, nil
}

// boxForm is the part of a hive's form that is about one box.
func (rec *recorder) boxForm(f *form, box int64) *form {
	sub := f.part(fieldsOf(box))
	sub.values.Set("id", openingID(f, box))
	return sub
}

// saysAnything reports whether the fields of a box say anything of it.
func saysAnything(f *form) bool {
	for name := range f.values {
		switch {
		case name == "id", name == "scraped", name == "supersedes", name == "photo", name == "photo-id":
		case name == "frames" && f.values.Get(name) == notTried:
		case strings.HasPrefix(name, "gap-at-"): // stands there for every place that is worth measuring
		case f.has(name):
			return true
		}
	}
	return false
}

// openingID follows from the form, so that the form sent twice counts once.
func openingID(f *form, box int64) string {
	base, err := uuid.Parse(f.values.Get("base"))
	if err != nil {
		base = uuid.New()
	}
	return uuid.NewSHA1(base, fmt.Appendf(nil, "box %d", box)).String()
}

// noTrouble are the openings of boxes that came apart as they should, a joint
// with one twist of the hive tool, and no word about its frames: those of a
// hive that the form asks for, that have no answer and are not recorded yet.
func (rec *recorder) noTrouble(h *scheduler.Hive, f *form, answers []boxAnswers) []store.BoxOpening {
	var out []store.BoxOpening
	for _, b := range slices.Backward(h.Boxes) {
		answered := slices.ContainsFunc(answers, func(a boxAnswers) bool { return a.box.ID == b.ID })
		if rec.planned(b.ID) && !answered && b.OpeningOn(rec.on) == nil {
			out = append(out, store.BoxOpening{BoxID: b.ID, Opening: rec.noTroubleOf(b.ID, f), Yields: true})
		}
	}
	return out
}

func recordedOn(h *scheduler.Hive, on scheduler.Date) []int64 {
	var out []int64
	for _, b := range slices.Backward(h.Boxes) {
		if b.OpeningOn(on) != nil {
			out = append(out, b.ID)
		}
	}
	return out
}

// askedAgain is a form that comes back: the boxes of it as they were filled in,
// and what is wrong with it.
type askedAgain struct {
	Boxes   map[int64]*recordBox
	Base    string // of the ids that it gives
	Scraped scheduler.Scraped
	Nothing bool  // is said in it
	form    *form // as it came
}

// again is the form of a hive as it was filled in.
func (rec *recorder) again(h *scheduler.Hive, f *form, answers []boxAnswers) *askedAgain {
	out := &askedAgain{Boxes: map[int64]*recordBox{}, Base: f.values.Get("base"), Scraped: scraped(f), form: f}
	worth := rec.gapsWorth(rec.visitOf(h))
	for _, a := range answers {
		x := rec.filledIn(a.box, a.form, &a.opening, worth[a.box.ID])
		x.Question, x.PhotosAgain = a.question, len(a.photos) > 0
		out.Boxes[a.box.ID] = x
	}
	return out
}

// filled is the form of a hive with every box that it asks for, and of which it
// does not say yet how it came apart, filled in: loose, or as last time.
func (rec *recorder) filled(h *scheduler.Hive, f *form) *askedAgain {
	out := rec.again(h, f, rec.answers(h, f))
	worth := rec.gapsWorth(rec.visitOf(h))
	for i := range h.Boxes {
		b := &h.Boxes[i]
		if x := out.Boxes[b.ID]; x != nil && !x.Problems["joint"].IsZero() {
			delete(x.Problems, "joint")
			rec.fillJoint(x, b, f)
		} else if x == nil && rec.planned(b.ID) && b.OpeningOn(rec.on) == nil {
			x = rec.filledIn(b, rec.boxForm(f, b.ID), nil, worth[b.ID])
			rec.fillJoint(x, b, f)
			out.Boxes[b.ID] = x
		}
	}
	return out
}

// fillJoint ticks an answer as the form's button asks for.
func (rec *recorder) fillJoint(x *recordBox, b *scheduler.Box, f *form) {
	joint := scheduler.Loose
	if f.values.Get("fill") == "last" {
		joint = jointBefore(b, rec.on)
	}
	for i := range x.Joint {
		x.Joint[i].Checked = scheduler.Difficulty(i) == joint
	}
}

// jointBefore is how hard the joint of a box was last time, or NotTried.
func jointBefore(b *scheduler.Box, on scheduler.Date) scheduler.Difficulty {
	o, ok := b.LastOpening(on)
	if !ok || o.LeftShut {
		return scheduler.NotTried
	}
	return o.Joint
}

// filledIn is the part of one box in a hive's form, as it was filled in; o is
// nil where it says nothing of it.
func (rec *recorder) filledIn(b *scheduler.Box, f *form, o *scheduler.Opening, worth []scheduler.GapPlace) *recordBox {
	x := &recordBox{boxView: rec.p.boxView(b), UUID: f.values.Get("id"), Prefix: fieldsOf(b.ID), Planned: rec.planned(b.ID), Problems: f.Problems}
	rec.fill(x, o, worth)
	rec.echoGaps(x, f, worth)
	x.LastJoint = lastJoint(b, rec.on)
	for i := range x.Scraped {
		x.Scraped[i].Checked = x.Scraped[i].Value == f.values.Get("scraped")
	}
	if o != nil {
		x.Supersedes = o.Supersedes
		if !f.has("joint") && !o.LeftShut {
			for i := range x.Joint {
				x.Joint[i].Checked = false
			}
		}
	}
	return x
}
