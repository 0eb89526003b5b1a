package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// visitDeed is one change that a member can make to a visit.
type visitDeed struct {
	anybody bool // no more than being a member is needed
	do      func(*visitChange) error
}

// visitDeeds are the changes by the last part of their address.
var visitDeeds = map[string]visitDeed{
	"take":   {true, (*visitChange).take},
	"leave":  {true, (*visitChange).leave},
	"who":    {false, (*visitChange).who},
	"move":   {false, (*visitChange).move},
	"pin":    {false, (*visitChange).pin},
	"unpin":  {false, (*visitChange).unpin},
	"cancel": {false, (*visitChange).cancel},
	"reopen": {false, (*visitChange).reopen},
	"finish": {true, (*visitChange).finish},

	"also-opened": {true, (*visitChange).alsoOpened},
	"not-opened":  {true, (*visitChange).notOpened},

	"leave-in": {false, (*visitChange).leaveIn},
	"take-off": {false, (*visitChange).takeOff},
}

// visitChange is one change under way, in its transaction.
type visitChange struct {
	ctx      context.Context
	tx       *store.Tx
	p        *apiaryRecords
	v        *scheduler.Visit
	by       *visitor
	sequence int // that whoever asks has seen
	form     *form
	said     notice
	made     *store.Replanned
	audit    string
}

// changeVisit answers the buttons of a visit's page.
func (s *Server) changeVisit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	deed, ok := visitDeeds[r.PathValue("deed")]
	if !ok {
		return s.nothingHere(w, r)
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	uid := r.PathValue("uid")
	p, v, err := s.visitRecords(r.Context(), who, uid)
	if err != nil {
		return err
	}
	if !deed.anybody && !who.mayPlan(p.apiary, v) {
		return errNotYours
	}
	said, err := s.makeChange(r.Context(), p, v, who, f, deed.do)
	if q, asks := err.(*question); asks {
		return s.askBack(w, r, who, p.club, p.apiary.Name, f, q, visitPath(uid))
	}
	if err != nil {
		return err
	}
	to := visitPath(uid)
	if f.values.Get("then") == "home" {
		to = "/"
	}
	return s.done(w, r, to, said)
}

// makeChange runs one change in a transaction, notes it in the audit trail,
// and that whoever made it knows.
func (s *Server) makeChange(ctx context.Context, p *apiaryRecords, v *scheduler.Visit, who *visitor, f *form, do func(*visitChange) error) (notice, error) {
	var said notice
	err := s.cfg.Store.InClub(ctx, who.ClubID, func(tx *store.Tx) error {
		c := &visitChange{ctx: ctx, tx: tx, p: p, v: v, by: who, form: f, sequence: int(f.id("sequence"))}
		if err := do(c); err != nil {
			return err
		}
		now, err := tx.Visit(ctx, v.ID)
		if err != nil {
			return err
		}
		tx.Knows(who.MemberID, now.Visit, c.made, p.today)
		c.said.Lines = append(c.said.Lines, p.consequences(c.made, v.ID)...)
		if c.said.Undo != nil {
			c.said.Undo.Fields = append(c.said.Undo.Fields, [2]string{"sequence", fmt.Sprint(now.Sequence)})
		}
		said = c.said
		return tx.Audit(ctx, store.AuditEntry{
			MemberID: who.MemberID, Action: c.audit, Subject: fmt.Sprintf("%s, %s", p.apiary.Name, v.On),
		})
	})
	return said, err
}

// tell says what was done, in the language of whoever did it.
func (c *visitChange) tell(key string, args ...any) { c.said.Text = c.p.say.Say(key, args...) }

func (c *visitChange) undo(label text.Text, deed string, fields ...[2]string) {
	c.said.Undo = &undo{Label: c.p.say.Tell(label), Action: visitPath(c.v.UID) + "/" + deed, Fields: fields}
}

func (c *visitChange) take() (err error) {
	c.audit = "go on visit"
	c.tell("page.visit.said.taken", c.p.apiary.Name, text.Full(c.v.On))
	c.undo(text.New("page.visit.said.take-back"), "leave")
	c.made, err = c.tx.TakeVisit(c.ctx, c.v.ID, c.sequence, c.by.MemberID, c.p.today)
	return err
}

func (c *visitChange) leave() (err error) {
	c.audit = "leave visit"
	c.tell("page.visit.said.left", c.p.apiary.Name, text.Full(c.v.On))
	if !slices.Contains(c.v.Who, c.by.MemberID) {
		c.tell("page.visit.said.not-going", c.p.apiary.Name, text.Full(c.v.On))
	}
	c.undo(text.New("page.visit.said.after-all"), "take")
	if c.made, err = c.tx.LeaveVisit(c.ctx, c.v.ID, c.sequence, c.by.MemberID, c.p.today); err != nil {
		return err
	}
	now, err := c.tx.Visit(c.ctx, c.v.ID)
	if err == nil && len(now.Who) == 0 {
		c.said.Lines = append(c.said.Lines, c.p.say.Say("page.visit.said.nobody-now"))
	}
	return err
}

func (c *visitChange) who() (err error) {
	ids := c.form.ids("member")
	c.audit = "say who goes"
	c.tell("page.visit.said.nobody-goes")
	if len(ids) > 0 {
		c.tell("page.visit.said.going", c.p.people(ids))
	}
	var were [][2]string
	for _, id := range c.v.Who {
		were = append(were, [2]string{"member", itoa(id)})
	}
	c.undo(text.New("page.visit.said.take-back"), "who", were...)
	c.made, err = c.tx.SetWho(c.ctx, c.v.ID, c.sequence, ids, c.p.today)
	return err
}

// move puts the visit on the day in the field "to", or else "other".
func (c *visitChange) move() error { return c.moveBy(c.tx.MoveVisit) }

// putOff is move by somebody who answers a mail. Who is expected on the visit
// and names another day goes then.
func (c *visitChange) putOff() error {
	return c.moveBy(func(ctx context.Context, id int64, sequence int, to, today scheduler.Date) (*store.Replanned, error) {
		if slices.Contains(c.v.Who, c.by.MemberID) {
			c.said.Lines = append(c.said.Lines, c.p.say.Say("page.visit.said.taken", c.p.apiary.Name, text.Full(to)))
		}
		return c.tx.PutOffVisit(ctx, id, sequence, to, c.by.MemberID, today)
	})
}

func (c *visitChange) moveBy(move func(ctx context.Context, id int64, sequence int, to, today scheduler.Date) (*store.Replanned, error)) (err error) {
	to := c.form.date("other")
	if to == 0 {
		to = c.form.date("to")
	}
	switch {
	case !c.form.ok():
		return newProblem(http.StatusUnprocessableEntity, "problem.not-a-day", text.Sentences{c.form.Problems["other"], c.form.Problems["to"]})
	case to == 0:
		return newProblem(http.StatusUnprocessableEntity, "problem.which-day")
	case to < c.p.today || to > c.p.today+scheduler.HorizonDays:
		return newProblem(http.StatusUnprocessableEntity, "problem.not-that-day", c.p.today, c.p.today+scheduler.HorizonDays)
	}
	if doubts := c.p.doubts(c.v, to); len(doubts) > 0 && !c.form.has("sure") {
		return &question{text.New("page.doubt.ask", text.Sentences(doubts))}
	}
	for _, late := range c.p.tooLate(c.v, to) {
		c.said.Lines = append(c.said.Lines, c.p.say.Tell(late))
	}
	c.audit = "move visit"
	c.tell("page.visit.said.moved", c.p.apiary.Name, text.Full(to))
	c.undo(text.New("page.visit.said.move-back", text.Short(c.v.On)), "move", [2]string{"to", c.v.On.String()}, [2]string{"sure", "yes"})
	if c.v.On < c.p.today {
		c.said.Undo = nil
	}
	c.made, err = move(c.ctx, c.v.ID, c.sequence, to, c.p.today)
	return err
}

func (c *visitChange) pin() (err error) {
	c.audit = "pin visit"
	c.tell("page.visit.said.pinned")
	c.undo(text.New("page.visit.unpin"), "unpin")
	c.made, err = c.tx.PinVisit(c.ctx, c.v.ID, c.sequence, true, c.p.today)
	return err
}

func (c *visitChange) unpin() (err error) {
	c.audit = "unpin visit"
	c.tell("page.visit.said.unpinned")
	c.undo(text.New("page.visit.said.take-back"), "pin")
	c.made, err = c.tx.PinVisit(c.ctx, c.v.ID, c.sequence, false, c.p.today)
	return err
}

// cancel takes the visit out until the day in the field "until-day", or else
// in the field "until", or for four weeks.
func (c *visitChange) cancel() (err error) {
	until := cmp.Or(c.form.date("until-day"), c.form.date("until"), max(c.v.On, c.p.today)+cancelledRest)
	if !c.form.ok() || until <= c.p.today || until > c.p.today+scheduler.HorizonDays {
		return newProblem(http.StatusUnprocessableEntity, "problem.not-that-day", c.p.today+1, c.p.today+scheduler.HorizonDays)
	}
	if !c.form.has("sure") {
		if limit := scheduler.HardLimit(c.p.club, c.v, c.p.today); limit != 0 && limit < until {
			return &question{text.New("page.visit.said.cancel-limit", c.p.apiary.Name, text.Full(c.v.On), text.Full(until), text.Full(limit))}
		}
		return &question{text.New("page.visit.said.cancel", c.p.apiary.Name, text.Full(c.v.On), text.Full(until))}
	}
	c.audit = "cancel visit"
	c.tell("page.visit.said.cancelled", c.p.apiary.Name, text.Full(c.v.On))
	if c.v.On >= c.p.today {
		c.undo(text.New("page.visit.said.take-back"), "reopen")
	}
	c.made, err = c.tx.CallOffVisit(c.ctx, c.v.ID, c.sequence, until, c.p.today)
	return err
}

// reopen takes back that the visit was cancelled: it is again what it was.
func (c *visitChange) reopen() (err error) {
	c.audit = "take back a cancelled visit"
	c.tell("page.visit.said.reopened", c.p.apiary.Name, text.Full(c.v.On))
	c.made, err = c.tx.ReopenVisit(c.ctx, c.v.ID, c.sequence, c.p.today)
	return err
}

// finish marks the visit done, on its own day or, when that is to come, today.
func (c *visitChange) finish() error {
	if c.v.Status.Open() && !c.form.has("sure") {
		return &question{text.New("page.question.finish", c.p.apiary.Name, text.Full(c.v.On))}
	}
	return c.finishOn(min(c.v.On, c.p.today))
}

func (c *visitChange) finishOn(on scheduler.Date) (err error) {
	c.audit = "finish visit"
	c.tell("page.visit.said.done", c.p.apiary.Name)
	c.made, err = c.tx.FinishVisit(c.ctx, c.v.ID, c.sequence, on, c.p.today)
	return err
}

func (c *visitChange) leaveIn() error { return c.box(false) }
func (c *visitChange) takeOff() error { return c.box(true) }

func (c *visitChange) box(out bool) (err error) {
	id := c.form.id("box")
	hive, box := c.p.names.Box(id)
	if box == "" {
		return fmt.Errorf("box %d: %w", id, store.ErrNotFound)
	}
	c.audit = "put box back on visit"
	c.tell("page.visit.said.box-back", hive, box)
	if out {
		c.audit = "take box off visit"
		c.tell("page.visit.said.box-off", hive, box)
		c.undo(text.New("page.visit.put-back"), "leave-in", [2]string{"box", fmt.Sprint(id)})
	}
	c.made, err = c.tx.LeaveBoxOut(c.ctx, c.v.ID, c.sequence, id, out, c.p.today)
	return err
}
