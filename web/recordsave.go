package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
)

// maxNote is how long a note may be, in characters.
const maxNote = 2000

// saveRecord saves the form of one box, or of a whole hive without trouble.
func (s *Server) saveRecord(w http.ResponseWriter, r *http.Request, rec *recorder, f *form) error {
	if on := f.date("on"); on != 0 {
		rec.on = on
	}
	if !f.ok() || rec.on > rec.p.today || rec.on < rec.p.today-20*scheduler.HorizonDays {
		return &problem{http.StatusUnprocessableEntity, "Not that day", fmt.Sprintf("Openings are recorded for days up to today, %s, as 2027-05-01. Nothing was saved.", rec.p.today)}
	}
	if f.has("whole") {
		return s.saveWhole(w, r, rec, f)
	}
	hive, box := rec.p.box(f.id("box"))
	if box == nil || rec.hive != nil && hive.ID != rec.hive.ID {
		return fmt.Errorf("box %d of the form: %w", f.id("box"), store.ErrNotFound)
	}
	o := rec.opening(f)
	if done := s.again(rec, box, &o); done {
		return s.saved(w, r, rec, hive.ID, nil, box.ID)
	}
	ask := func(question string) error {
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
		return ask("")
	}
	if q := rec.unusual(box, &o); q != "" && !f.has("sure") && !o.Void {
		return ask(q)
	}
	out, err := s.record(r.Context(), rec, []store.BoxOpening{{BoxID: box.ID, Opening: o}})
	if err != nil {
		return err
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
		return tx.Knows(ctx, rec.who.MemberID, scheduler.Visit{}, out.Replanned, rec.p.today)
	})
	return out, err
}

// saved goes back to the form, which then says what the answers changed.
func (s *Server) saved(w http.ResponseWriter, r *http.Request, rec *recorder, hive int64, out *store.Recorded, boxes ...int64) error {
	q := url.Values{"on": {rec.on.String()}, "hive": {strconv.FormatInt(hive, 10)}}
	for _, b := range boxes {
		q.Add("saved", strconv.FormatInt(b, 10))
		if out != nil {
			q.Add("was", out.Before[b].Due.String())
		}
	}
	http.Redirect(w, r, rec.base+"?"+q.Encode()+"#box-"+strconv.FormatInt(boxes[0], 10), http.StatusSeeOther)
	return nil
}

// saveWhole records that every box of a hive that the form asks for, and that
// is not recorded yet, came open without trouble.
func (s *Server) saveWhole(w http.ResponseWriter, r *http.Request, rec *recorder, f *form) error {
	h := rec.p.hive(f.id("hive"))
	if h == nil || rec.hive != nil && h.ID != rec.hive.ID {
		return fmt.Errorf("hive %d of the form: %w", f.id("hive"), store.ErrNotFound)
	}
	var openings []store.BoxOpening
	var boxes []int64
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		b := &h.Boxes[i]
		if rec.planned(b.ID) && openingOn(b, rec.on) == nil {
			openings = append(openings, store.BoxOpening{BoxID: b.ID, Opening: noTrouble(rec, b.ID, f)})
			boxes = append(boxes, b.ID)
		}
	}
	if len(openings) == 0 { // a second tap
		for i := range h.Boxes {
			if openingOn(&h.Boxes[i], rec.on) != nil {
				boxes = append(boxes, h.Boxes[i].ID)
			}
		}
		if len(boxes) == 0 {
			return &problem{http.StatusUnprocessableEntity, "Nothing to record", "This visit opens no box of that hive. Record its boxes one by one."}
		}
		return s.saved(w, r, rec, h.ID, nil, boxes...)
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

// opening reads the answers about one box.
func (rec *recorder) opening(f *form) scheduler.Opening {
	o := scheduler.Opening{
		ID: f.values.Get("id"), Supersedes: f.values.Get("supersedes"), Void: f.has("void"), On: rec.on, By: rec.who.MemberID,
		Joint: scheduler.NotTried, Frames: scheduler.NotTried, Scraped: scraped(f), Note: f.text("note", maxNote),
	}
	if _, err := uuid.Parse(o.ID); err != nil {
		o.ID = uuid.NewString()
	}
	if _, err := uuid.Parse(o.Supersedes); err != nil {
		o.Supersedes = ""
	}
	if f.has("shut") {
		o.LeftShut, o.Joint, o.Scraped = true, scheduler.Stuck, scheduler.ScrapedNone
		return o
	}
	degree := func(field string) scheduler.Difficulty {
		n, err := strconv.Atoi(f.values.Get(field))
		if err != nil || n < 0 || n > int(scheduler.Stuck) {
			return scheduler.NotTried
		}
		return scheduler.Difficulty(n)
	}
	o.Joint, o.Frames = degree("joint"), degree("frames")
	if o.Joint == scheduler.NotTried && !o.Void {
		f.bad("joint", "Say how the joint came open, or that you left the box shut.")
		o.Joint = scheduler.Loose
	}
	for _, c := range f.values["condition"] {
		if c := scheduler.Condition(c); slices.Contains(scheduler.Conditions, c) && !slices.Contains(o.Condition, c) {
			o.Condition = append(o.Condition, c)
		}
	}
	rec.gaps(f, &o)
	return o
}

// maxGaps is how many gaps one opening may carry.
const maxGaps = 12

// gaps reads the rows of measured gaps: gap-at-0, gap-size-0, gap-peg-0 and so on.
func (rec *recorder) gaps(f *form, o *scheduler.Opening) {
	for i := range maxGaps {
		n := strconv.Itoa(i)
		g := scheduler.Gap{At: scheduler.GapPlace(f.values.Get("gap-at-" + n)), Peg: scheduler.Peg(f.values.Get("gap-peg-" + n))}
		size := f.text("gap-size-"+n, 40)
		switch g.Peg {
		case scheduler.ThinWontGo, scheduler.ThinGoes, scheduler.ThickGoes:
		default:
			g.Peg = ""
		}
		if size == "" && g.Peg == "" {
			continue
		}
		if !slices.Contains(scheduler.GapPlaces, g.At) {
			f.bad("gap", "Say where the gap of %q is.", cut(size+string(g.Peg)))
			continue
		}
		if size != "" {
			mm, err := scheduler.ParseLength(size, rec.units())
			if err != nil {
				f.bad("gap", "%s: %v.", rec.p.say.Word(g.At.WordKey()), err)
				continue
			}
			g.MM = mm
			if mm > 0 {
				g.Peg = ""
			}
		}
		o.Gaps = append(o.Gaps, g)
	}
}

// echoGaps shows the rows of gaps as they were typed.
func (rec *recorder) echoGaps(x *recordBox, f *form) {
	x.Gaps = nil
	for i := range maxGaps {
		n := strconv.Itoa(i)
		row := gapRow{At: scheduler.GapPlace(f.values.Get("gap-at-" + n)), Size: f.values.Get("gap-size-" + n), Peg: scheduler.Peg(f.values.Get("gap-peg-" + n))}
		if row.Size == "" && row.Peg == "" {
			continue
		}
		if slices.Contains(scheduler.GapPlaces, row.At) {
			row.Label = rec.p.say.Word(row.At.WordKey())
		} else {
			row.At = ""
		}
		x.Gaps = append(x.Gaps, row)
		x.GapsOpen = true
	}
	x.Gaps = append(x.Gaps, gapRow{})
}

// again recognises a form that was sent before. Sent unchanged, it changes
// nothing; sent with other answers, it corrects what it recorded first.
func (s *Server) again(rec *recorder, box *scheduler.Box, o *scheduler.Opening) bool {
	known := slices.IndexFunc(box.Openings, func(k scheduler.Opening) bool { return k.ID == o.ID })
	if known < 0 {
		return false
	}
	if sameAnswers(&box.Openings[known], o) {
		return true
	}
	b, err := json.Marshal(o)
	if err != nil {
		return false
	}
	first := uuid.MustParse(o.ID)
	o.ID = uuid.NewSHA1(first, b).String()
	o.Supersedes = first.String()
	for i := range box.Openings { // the last correction of it
		k := &box.Openings[i]
		if k.ID == o.ID {
			return true
		}
		if k.Supersedes == o.Supersedes {
			o.Supersedes = k.ID
		}
	}
	return false
}

func sameAnswers(a, b *scheduler.Opening) bool {
	return a.On == b.On && a.Joint == b.Joint && a.Frames == b.Frames && a.LeftShut == b.LeftShut && a.Scraped == b.Scraped &&
		a.Void == b.Void && a.Note == b.Note && slices.Equal(a.Gaps, b.Gaps) && slices.Equal(a.Condition, b.Condition)
}

// unusual asks about answers that are rarely meant; empty for none.
func (rec *recorder) unusual(box *scheduler.Box, o *scheduler.Opening) string {
	if o.Supersedes == "" {
		if had := openingOn(box, rec.on); had != nil {
			o.Supersedes = had.ID
			return fmt.Sprintf("%s is recorded for this day already: %s. Save this instead of it?", box.Name, rec.p.say.Word(had.Difficulty().WordKey()))
		}
	}
	for _, g := range o.Gaps {
		if g.MM > 30 {
			return fmt.Sprintf("A gap of %s is wider than a bee space by far. Is that right?", rec.p.say.Length(g.MM))
		}
	}
	var before *scheduler.Opening
	for _, k := range scheduler.Effective(box.Openings) {
		if k.On < rec.on {
			before = &k
		}
	}
	if before == nil || o.LeftShut {
		return ""
	}
	was, now := before.Difficulty(), o.Difficulty()
	if now-was >= 3 || was-now >= 3 {
		return fmt.Sprintf("%s was %s last time, on %s, and %s now. That happens, but not often. Is it right?",
			box.Name, rec.p.say.Word(was.WordKey()), rec.p.say.PlainDay(before.On), rec.p.say.Word(now.WordKey()))
	}
	return ""
}

// newDates says which day boxes are due next, and were before.
func (p *place) newDates(out *store.Recorded, most int) []string {
	var lines []string
	for _, h := range p.apiary.Hives {
		for i := len(h.Boxes) - 1; i >= 0; i-- {
			was, now := out.Before[h.Boxes[i].ID], out.After[h.Boxes[i].ID]
			if was.Due == now.Due || now.Due == 0 {
				continue
			}
			if len(lines) == most {
				return append(lines, "and more boxes.")
			}
			lines = append(lines, fmt.Sprintf("%s %s: open by %s; before, it was %s.", h.Name, h.Boxes[i].Name, p.say.PlainDay(now.Due), p.say.PlainDay(was.Due)))
		}
	}
	return lines
}
