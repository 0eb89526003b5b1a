package web

import (
	"context"
	"fmt"
	"net/http"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// saveRecord saves the form of one box, or of a whole hive without trouble;
// read reads what the form is about.
func (s *Server) saveRecord(w http.ResponseWriter, r *http.Request, f *form, read func() (*recorder, error)) error {
	rec, err := read()
	if err != nil {
		return err
	}
	if on := f.date("on"); on != 0 {
		rec.on = on
	}
	if !f.ok() || !rec.on.Recordable(rec.p.today) {
		return newProblem(http.StatusUnprocessableEntity, "problem.not-that-day-record", rec.p.today.String())
	}
	if f.has("whole") {
		return s.saveWhole(w, r, rec, f)
	}
	hive, box := rec.p.apiary.Box(f.id("box"))
	if box == nil || rec.hive != nil && hive.ID != rec.hive.ID {
		return fmt.Errorf("box %d of the form: %w", f.id("box"), store.ErrNotFound)
	}
	o := rec.opening(f)
	ask := func(question text.Text) error {
		x := &recordBox{boxView: boxView{ID: box.ID}, UUID: f.values.Get("id"), Supersedes: o.Supersedes, Planned: true, Problems: f.Problems, Question: question}
		rec.fill(x, &o, nil)
		rec.echoGaps(x, f)
		if !f.has("joint") && !o.LeftShut {
			for i := range x.Joint {
				x.Joint[i].Checked = false
			}
		}
		return s.renderRecord(w, r, rec, hive.ID, http.StatusUnprocessableEntity, x)
	}
	if !f.ok() {
		return ask(text.Text{})
	}
	if q := rec.unusual(box, &o); !q.IsZero() && !f.has("sure") && !o.Void {
		return ask(q)
	}
	out, err := s.record(r.Context(), rec, []store.BoxOpening{{BoxID: box.ID, Opening: o, Yields: true}})
	if err != nil {
		return err
	}
	if len(out.Yielded) > 0 { // somebody was faster: ask about that
		return s.saveRecord(w, r, f, read)
	}
	return s.saved(w, r, rec, hive.ID, out, box.ID)
}

// record adds openings and notes that whoever did knows what followed.
func (s *Server) record(ctx context.Context, rec *recorder, openings []store.BoxOpening) (*store.Recorded, error) {
	var out *store.Recorded
	err := s.cfg.Store.InClub(ctx, rec.who.ClubID, func(tx *store.Tx) (err error) {
		if out, err = tx.RecordOpenings(ctx, openings, rec.p.today); err != nil {
			return err
		}
		tx.Knows(rec.who.MemberID, scheduler.Visit{}, out.Replanned, rec.p.today)
		return nil
	})
	return out, err
}

// saveWhole records that every box of a hive that the form asks for, and that
// is not recorded yet, came open without trouble.
func (s *Server) saveWhole(w http.ResponseWriter, r *http.Request, rec *recorder, f *form) error {
	h := rec.p.apiary.Hive(f.id("hive"))
	if h == nil || rec.hive != nil && h.ID != rec.hive.ID {
		return fmt.Errorf("hive %d of the form: %w", f.id("hive"), store.ErrNotFound)
	}
	var openings []store.BoxOpening
	var boxes []int64
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		b := &h.Boxes[i]
		if rec.planned(b.ID) && b.OpeningOn(rec.on) == nil {
			openings = append(openings, store.BoxOpening{BoxID: b.ID, Opening: noTrouble(rec, b.ID, f), Yields: true})
			boxes = append(boxes, b.ID)
		}
	}
	if len(openings) == 0 { // a second tap
		for i := range h.Boxes {
			if h.Boxes[i].OpeningOn(rec.on) != nil {
				boxes = append(boxes, h.Boxes[i].ID)
			}
		}
		if len(boxes) == 0 {
			return newProblem(http.StatusUnprocessableEntity, "problem.nothing-to-record")
		}
		return s.saved(w, r, rec, h.ID, &store.Recorded{}, boxes...)
	}
	out, err := s.record(r.Context(), rec, openings)
	if err != nil {
		return err
	}
	return s.saved(w, r, rec, h.ID, out, boxes...)
}

// noTrouble is the opening of a box that came apart as it should: a joint with
// one twist of the hive tool, and no word about its frames. Its id follows
// from the form's, so that the form sent twice counts once.
func noTrouble(rec *recorder, box int64, f *form) scheduler.Opening {
	base, err := uuid.Parse(f.values.Get("base"))
	if err != nil {
		base = uuid.New()
	}
	return scheduler.Opening{
		ID: uuid.NewSHA1(base, fmt.Appendf(nil, "box %d", box)).String(), On: rec.on, By: rec.who.MemberID,
		Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scraped(f),
	}
}

func scraped(f *form) scheduler.Scraped {
	switch s := scheduler.Scraped(f.values.Get("scraped")); s {
	case scheduler.ScrapedAll, scheduler.ScrapedPart, scheduler.ScrapedNone:
		return s
	}
	return scheduler.ScrapedNone
}

// newDates says which day boxes are due next, and were before.
func (p *apiaryRecords) newDates(out *store.Recorded, most int) []string {
	var lines []string
	for _, h := range p.apiary.Hives {
		for i := len(h.Boxes) - 1; i >= 0; i-- {
			was, now := out.Before[h.Boxes[i].ID], out.After[h.Boxes[i].ID]
			if was.Due == now.Due || now.Due == 0 {
				continue
			}
			if len(lines) == most {
				return append(lines, p.say.Say("page.act.due-more"))
			}
			line := text.New("page.act.due", h.Name, h.Boxes[i].Name, now.Due)
			if was.Due != 0 {
				line = text.New("page.act.due-was", h.Name, h.Boxes[i].Name, now.Due, was.Due)
			}
			lines = append(lines, p.say.Tell(line))
		}
	}
	return lines
}
