package web

import (
	"slices"
	"strings"

	"github.com/google/uuid"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// unwrittenView asks whether the boxes of a done visit without a word were
// opened too.
type unwrittenView struct {
	Path   string // of the visit
	Apiary string
	Day    string
	Says   string
	Boxes  []int64
	Names  string
	Base   string // of the ids that the answer gives
}

// unwritten asks about boxes of a visit; nil where there are none.
func (p *apiaryRecords) unwritten(v *scheduler.Visit, u scheduler.Unwritten) *unwrittenView {
	if len(u.Boxes) == 0 {
		return nil
	}
	return &unwrittenView{
		Path: visitPath(v.UID), Apiary: p.apiary.Name, Day: p.say.ShortDay(v.On), Boxes: u.Boxes, Names: p.boxNames(u.Boxes), Base: uuid.NewString(),
		Says: p.say.Say("page.visit.also.why", len(u.Boxes), text.Full(u.On)),
	}
}

// boxNames names boxes of the apiary in one line, hive by hive.
func (p *apiaryRecords) boxNames(ids []int64) string {
	var hives []string
	for i := range p.apiary.Hives {
		h := &p.apiary.Hives[i]
		var names []string
		for _, id := range ids {
			if b := h.Box(id); b != nil {
				names = append(names, b.Name)
			}
		}
		if len(names) > 0 {
			hives = append(hives, h.Name+": "+strings.Join(names, ", "))
		}
	}
	return strings.Join(hives, "; ")
}

// stillUnwritten are the boxes that a form about a done visit is still about:
// of those that it showed, the ones without a word. How long ago the visit was
// does not matter to an answer.
func (p *apiaryRecords) stillUnwritten(v *scheduler.Visit, f *form) scheduler.Unwritten {
	u := scheduler.UnwrittenOf(p.apiary, v, &p.club.Rules, v.On)
	if f == nil || len(f.values["box"]) == 0 {
		return u
	}
	u.Boxes = slices.DeleteFunc(u.Boxes, func(id int64) bool { return !slices.Contains(f.values["box"], itoa(id)) })
	return u
}

// alsoOpened records the boxes without a word as opened with the others, by
// whoever says so. One tap for all of them says nothing of how hard each was.
func (c *visitChange) alsoOpened() error {
	c.audit = "say boxes were opened too"
	u := c.p.stillUnwritten(c.v, c.form)
	var openings []store.BoxOpening
	for _, id := range u.Boxes {
		openings = append(openings, store.BoxOpening{BoxID: id, Yields: true, Opening: scheduler.Opening{
			ID: openingID(c.form, id), On: u.On, By: c.by.MemberID, Joint: scheduler.NotTried, Frames: scheduler.NotTried,
		}})
	}
	if len(openings) == 0 {
		c.tell("page.visit.also.settled")
		return nil
	}
	out, err := c.tx.RecordOpenings(c.ctx, openings, c.p.today)
	if err != nil {
		return err
	}
	c.made = out.Replanned
	c.tell("page.visit.also.opened", len(out.New), text.Full(u.On))
	return nil
}

// notOpened notes that the boxes without a word were not opened.
func (c *visitChange) notOpened() (err error) {
	c.audit = "say boxes were not opened"
	u := c.p.stillUnwritten(c.v, c.form)
	if len(u.Boxes) == 0 {
		c.tell("page.visit.also.settled")
		return nil
	}
	c.tell("page.visit.also.not-opened", len(u.Boxes), c.p.boxNames(u.Boxes))
	c.made, err = c.tx.SayNotOpened(c.ctx, c.v.ID, u.Boxes, c.p.today)
	return err
}

// settled says what is true of a done visit about which nothing is left to ask.
func (s *Server) settled(a *acting) *actedView {
	if by, on, all := a.recorders(); all {
		return s.found(a, a.doneBy(by, on), notify.RecordDeed)
	}
	if not := a.v.NotOpened; len(not) > 0 {
		return s.found(a, text.New("page.visit.also.not-opened", len(not), a.p.boxNames(not)), notify.RecordDeed)
	}
	return s.found(a, a.truth("page.act.done"), notify.RecordDeed)
}
