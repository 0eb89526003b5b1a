package web

import (
	"errors"
	"slices"
	"strconv"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// What one opening may carry.
const (
	maxNote = 2000 // characters
	maxGaps = 12
)

// What answers of a box say instead of a degree.
const (
	leftShut = "shut" // of the joint
	notTried = "-1"   // of the frames
)

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
	if f.has("shut") || f.values.Get("joint") == leftShut { // the first is how forms said it that may wait on a phone
		o.LeftShut, o.Joint, o.Scraped = true, scheduler.Stuck, scheduler.ScrapedNone
		if !f.has("shut") && f.has("frames") && f.values.Get("frames") != notTried {
			f.bad("joint", "form.shut-frames")
		}
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
	if o.Joint == scheduler.NotTried {
		if !o.Void {
			f.bad("joint", "form.how-open")
		}
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
			f.bad("gap", "form.where-gap", cut(size+string(g.Peg)))
			continue
		}
		if size != "" {
			var bad *text.BadLength
			mm, err := text.ParseLength(size, rec.units())
			if errors.As(err, &bad) {
				f.bad("gap", "form.named", g.At, sentence(rec.p.say.Tell(bad.Text)))
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

// echoGaps shows the rows of gaps as they were typed, and those worth measuring.
func (rec *recorder) echoGaps(x *recordBox, f *form, worth []scheduler.GapPlace) {
	x.Gaps = nil
	for i := range maxGaps {
		n := strconv.Itoa(i)
		row := gapRow{At: scheduler.GapPlace(f.values.Get("gap-at-" + n)), Size: f.values.Get("gap-size-" + n), Peg: scheduler.Peg(f.values.Get("gap-peg-" + n))}
		if row.Size == "" && row.Peg == "" {
			continue
		}
		if slices.Contains(scheduler.GapPlaces, row.At) {
			row.Label = rec.p.say.Word(row.At)
		} else {
			row.At = ""
		}
		x.Gaps = append(x.Gaps, row)
		x.GapsOpen = true
	}
	rec.addPlaces(x, worth)
	x.Gaps = append(x.Gaps, gapRow{})
}

// unusual asks about answers that are rarely meant; the zero Text for none.
func (rec *recorder) unusual(box *scheduler.Box, o *scheduler.Opening) text.Text {
	sent := slices.ContainsFunc(box.Openings, func(k scheduler.Opening) bool { return k.ID == o.ID }) // this form, before
	if o.Supersedes == "" && !sent {
		if had := box.OpeningOn(rec.on); had != nil {
			o.Supersedes = had.ID
			if had.Difficulty() != scheduler.NotTried {
				return text.New("page.record.twice", box.Name, had.Difficulty())
			}
		}
	}
	for _, g := range o.Gaps {
		if g.MM > 30 {
			return text.New("page.record.wide", text.Length(g.MM))
		}
	}
	var before *scheduler.Opening
	for _, k := range scheduler.Effective(box.Openings) {
		if k.On < rec.on {
			before = &k
		}
	}
	if before == nil || before.Difficulty() == scheduler.NotTried || o.LeftShut {
		return text.Text{}
	}
	was, now := before.Difficulty(), o.Difficulty()
	if now-was >= 3 || was-now >= 3 {
		return text.New("page.record.leap", box.Name, was, before.On, now)
	}
	return text.Text{}
}
