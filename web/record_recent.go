package web

import (
	"net/http"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// recentView lists what somebody recorded within the last day, to be put right
// or taken back.
type recentView struct {
	Lines []recentLine
	Then  string // where taking back leads to
}

// recentLine is one of them.
type recentLine struct {
	HiveID, BoxID int64
	Where         string // box and hive
	Day, Word     string
	ID            string
	Path          string // of the form that corrects it
}

// recentOpenings are the lines of openings that a visitor recorded; nil for none.
func recentOpenings(say *text.Speaker, openings []store.RecentOpening, then string) *recentView {
	out := &recentView{Then: then}
	for i := range openings {
		o := &openings[i]
		rec := recorder{base: "/hive/" + itoa(o.HiveID) + "/record", on: o.On}
		word := say.Tell(o.HowHard())
		if o.LeftShut {
			word = say.Say("page.hive.left-shut")
		}
		out.Lines = append(out.Lines, recentLine{
			HiveID: o.HiveID, BoxID: o.BoxID, Where: say.Say("page.recent.where", o.Box, text.Hive(o.Hive), o.Apiary), Day: say.ShortDay(o.On), Word: word, ID: o.ID,
			Path: rec.address(0) + "#box-" + itoa(o.BoxID),
		})
	}
	if len(out.Lines) == 0 {
		return nil
	}
	return out
}

// todaysBy are the openings of today that a member recorded of a visit, and not of
// another of its apiary.
func (p *apiaryRecords) todaysBy(member int64, v *scheduler.Visit) (out []store.RecentOpening) {
	found := scheduler.FoundOn(p.club, v)
	for i := range p.apiary.Hives {
		h := &p.apiary.Hives[i]
		for j := range h.Boxes {
			if o := h.Boxes[j].OpeningOn(p.today); o != nil && o.By == member && found[h.Boxes[j].ID] {
				out = append(out, store.RecentOpening{Opening: *o, BoxID: h.Boxes[j].ID, HiveID: h.ID, Box: h.Boxes[j].Name, Hive: h.Name, Apiary: p.apiary.Name})
			}
		}
	}
	return out
}

// takeBack takes back an opening that whoever asks recorded: a correction says
// that it does not count, and what was recorded stays in the records. A second
// tap changes nothing.
func (s *Server) takeBack(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p, h, err := s.hiveRecords(r, who, nil)
	if err != nil {
		return err
	}
	box := h.Box(f.id("box"))
	if box == nil {
		return store.ErrStackChanged
	}
	o := openingOf(box, f.values.Get("opening"))
	switch {
	case o == nil:
		return store.ErrNotFound
	case o.By != who.MemberID:
		return errNotYours
	}
	if !f.has("sure") {
		return s.askBack(w, r, who, p.club, h.Name, f, &question{text.New("page.question.take-back", box.Name, text.Full(o.On))}, "/")
	}
	id, err := uuid.Parse(o.ID)
	if err != nil {
		return store.ErrNotFound
	}
	rec := &recorder{p: p, who: who, hive: h, on: o.On}
	back := scheduler.Opening{
		ID: uuid.NewSHA1(id, []byte("taken back")).String(), Supersedes: o.ID, Void: true, On: o.On, By: who.MemberID,
		Joint: scheduler.NotTried, Frames: scheduler.NotTried,
	}
	rec.sayOpener(box, &back)
	out, err := s.record(r.Context(), rec, []store.BoxOpening{{BoxID: box.ID, Opening: back}})
	if err != nil {
		return err
	}
	said := notice{Text: p.say.Say("page.recent.taken-back", box.Name, text.Hive(h.Name), text.Full(o.On)), Lines: p.newDates(out, 6)}
	to := "/"
	if v := f.values.Get("then"); v != "" && p.visitAt(v) {
		to = visitPath(v)
	}
	return s.done(w, r, to, said)
}

// openingOf finds an opening of a box by its id, whether it counts or not.
func openingOf(b *scheduler.Box, id string) *scheduler.Opening {
	for i := range b.Openings {
		if b.Openings[i].ID == id {
			return &b.Openings[i]
		}
	}
	return nil
}

// visitAt reports whether the apiary has a visit of an identity.
func (p *apiaryRecords) visitAt(uid string) bool {
	for i := range p.club.Visits {
		if p.club.Visits[i].UID == uid {
			return true
		}
	}
	return false
}
