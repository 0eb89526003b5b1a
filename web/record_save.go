package web

import (
	"context"
	"fmt"
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// saveRecord saves the form of one box, or of a hive; read reads what the form
// is about.
func (s *Server) saveRecord(w http.ResponseWriter, r *http.Request, f *form, read func() (*recorder, error)) error {
	rec, err := read()
	if err != nil {
		return err
	}
	if err := rec.mine(f); err != nil {
		return err
	}
	if on := f.date("on"); on != 0 {
		rec.on = on
	}
	if !f.ok() || !rec.on.Recordable(rec.p.today) {
		return newProblem(http.StatusUnprocessableEntity, "problem.not-that-day-record", rec.p.today.String())
	}
	if f.has("photo-of") {
		return s.photosOnly(w, r, rec, f)
	}
	rec.readOpener(f)
	if !f.has("box") {
		return s.saveStack(w, r, rec, f, read)
	}
	hive, box := rec.p.apiary.Box(f.id("box"))
	if box == nil || rec.hive != nil && hive.ID != rec.hive.ID {
		return fmt.Errorf("box %d of the form: %w", f.id("box"), store.ErrNotFound)
	}
	o := rec.opening(f)
	rec.sayOpener(box, &o)
	if was := openingOf(box, o.Supersedes); was != nil && was.Scraped == "" && !o.LeftShut && !f.has("scraped") {
		o.Scraped = "" // nobody knew it, and no more is known now
	}
	photos := rec.photos(f, box.ID, &o)
	ask := func(question text.Text) error {
		x := &recordBox{boxView: boxView{ID: box.ID}, UUID: f.values.Get("id"), Supersedes: o.Supersedes, Planned: true, Problems: f.Problems, Question: question, PhotosAgain: len(photos) > 0}
		rec.fill(x, &o, nil)
		if x.Opener != nil {
			x.Opener.typed(f)
		}
		rec.echoGaps(x, f, rec.gapsWorth(rec.visitOf(hive))[box.ID])
		if !f.has("joint") && !o.LeftShut {
			for i := range x.Joint {
				x.Joint[i].Checked = false
			}
		}
		return s.renderRecord(w, r, rec, hive.ID, http.StatusUnprocessableEntity, &askedAgain{Boxes: map[int64]*recordBox{box.ID: x}})
	}
	if !f.ok() {
		return ask(text.Text{})
	}
	if !f.has("sure") && !o.Void && !late(f) {
		if q := rec.unusual(box, &o); !q.IsZero() {
			return ask(q)
		}
	}
	out, err := s.record(r.Context(), rec, []store.BoxOpening{{BoxID: box.ID, Opening: o, Yields: !late(f)}}, photos...)
	if err != nil {
		return err
	}
	if len(out.Yielded) > 0 { // somebody was faster: ask about that
		f.values.Del("sure") // of what was asked before
		return s.saveRecord(w, r, f, read)
	}
	rec.opener = nil // was of this box alone
	return s.saved(w, r, rec, hive.ID, out, nil, box.ID)
}

// mine refuses a form that somebody else filled in.
func (rec *recorder) mine(f *form) error {
	if by := f.values.Get("who"); by != "" && by != itoa(rec.who.MemberID) {
		return newProblem(http.StatusForbidden, "problem.somebody-elses")
	}
	return nil
}

// late reports whether a form waited on a phone for a signal. Nobody can be
// asked about it any more, and it stands beside what others recorded meanwhile.
func late(f *form) bool { return f.has("late") }

// record adds openings, if any, with their photos and the ticks of the form, and
// notes that whoever did knows what followed.
func (s *Server) record(ctx context.Context, rec *recorder, openings []store.BoxOpening, photos ...store.NewPhoto) (*store.Recorded, error) {
	out := &store.Recorded{}
	err := s.cfg.Store.InClub(ctx, rec.who.ClubID, func(tx *store.Tx) (err error) {
		if rec.ticks.changes() {
			tx.Tick(rec.visit.UID, rec.ticks.Done, rec.ticks.Undone)
		}
		if len(openings) == 0 {
			return nil
		}
		if out, err = tx.RecordOpenings(ctx, openings, rec.p.today); err != nil {
			return err
		}
		if err := rec.noteOpeners(ctx, tx, openings, out); err != nil {
			return err
		}
		tx.Knows(rec.who.MemberID, scheduler.Visit{}, out.Replanned, rec.p.today)
		return addPhotos(ctx, tx, photos, out.Yielded)
	})
	return out, err
}

// noTroubleOf is the opening of a box that came apart as it should.
func (rec *recorder) noTroubleOf(box int64, f *form) scheduler.Opening {
	o := scheduler.Opening{
		ID: openingID(f, box), On: rec.on, By: rec.who.MemberID,
		Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scraped(f),
	}
	if rec.opener != nil {
		o.NameOpener(*rec.opener)
	}
	return o
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
			lines = append(lines, p.dueNext(h.Name, h.Boxes[i].Name, now.Due, was.Due))
		}
	}
	return lines
}

// dueNext says when a box is due next, and was before; zero for never.
func (p *apiaryRecords) dueNext(hive, box string, now, was scheduler.Date) string {
	if was == 0 || was == now {
		return p.say.Say("page.act.due", hive, box, now)
	}
	return p.say.Say("page.act.due-was", hive, box, now, was)
}
