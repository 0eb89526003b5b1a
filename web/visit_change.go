package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/store"
)

// visitDeed is one change that a member can make to a visit.
type visitDeed struct {
	anybody bool // no more than being a member is needed
	do      func(*visitChange) error
}

// visitDeeds are the changes by the last part of their address.
var visitDeeds = map[string]visitDeed{
	"take":     {true, (*visitChange).take},
	"leave":    {true, (*visitChange).leave},
	"who":      {false, (*visitChange).who},
	"move":     {false, (*visitChange).move},
	"pin":      {false, (*visitChange).pin},
	"unpin":    {false, (*visitChange).unpin},
	"cancel":   {false, (*visitChange).cancel},
	"finish":   {true, (*visitChange).finish},
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

// question is asked back before something unusual is done.
type question struct{ text string }

func (q *question) Error() string { return q.text }

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
		return s.showTo(w, r, who, p.club, http.StatusUnprocessableEntity, "sure", p.apiary.Name, sureView{
			Text: q.text, Action: r.URL.Path, Fields: keep(f), Back: visitPath(uid),
		})
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
		if err := tx.Knows(ctx, who.MemberID, now.Visit, c.made, p.today); err != nil {
			return err
		}
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

func (c *visitChange) undo(label, deed string, fields ...[2]string) {
	c.said.Undo = &undo{Label: label, Action: visitPath(c.v.UID) + "/" + deed, Fields: fields}
}

func (c *visitChange) take() error {
	c.audit, c.said.Text = "go on visit", fmt.Sprintf("You go to %s on %s.", c.p.apiary.Name, c.p.say.Day(c.v.On))
	c.undo("Take it back", "leave")
	return c.tx.TakeVisit(c.ctx, c.v.ID, c.sequence, c.by.MemberID)
}

func (c *visitChange) leave() error {
	c.audit, c.said.Text = "leave visit", fmt.Sprintf("You are off the visit to %s on %s.", c.p.apiary.Name, c.p.say.Day(c.v.On))
	c.undo("I go after all", "take")
	if err := c.tx.LeaveVisit(c.ctx, c.v.ID, c.sequence, c.by.MemberID); err != nil {
		return err
	}
	now, err := c.tx.Visit(c.ctx, c.v.ID)
	if err == nil && len(now.Who) == 0 {
		c.said.Lines = append(c.said.Lines, "Nobody is going now: it stands first on everybody's page until somebody takes it.")
	}
	return err
}

func (c *visitChange) who() error {
	ids := c.form.ids("member")
	c.audit, c.said.Text = "say who goes", "Nobody goes on this visit now."
	if len(ids) > 0 {
		c.said.Text = fmt.Sprintf("Going now: %s.", c.p.say.List(c.p.people(ids)))
	}
	return c.tx.SetWho(c.ctx, c.v.ID, c.sequence, ids)
}

// move puts the visit on the day in the field "to", or else "other".
func (c *visitChange) move() (err error) {
	to := c.form.date("other")
	if to == 0 {
		to = c.form.date("to")
	}
	switch {
	case !c.form.ok():
		return &problem{http.StatusUnprocessableEntity, "Not a day", c.form.Problems["other"] + c.form.Problems["to"]}
	case to == 0:
		return &problem{http.StatusUnprocessableEntity, "Which day?", "Choose one of the days, or write another one."}
	case to < c.p.today || to > c.p.today+scheduler.HorizonDays:
		return &problem{http.StatusUnprocessableEntity, "Not that day", fmt.Sprintf("A visit can be put on a day from %s to %s.", c.p.say.PlainDay(c.p.today), c.p.say.PlainDay(c.p.today+scheduler.HorizonDays))}
	}
	if doubt := c.p.doubt(c.v, to); doubt != "" && !c.form.has("sure") {
		return &question{doubt}
	}
	c.audit, c.said.Text = "move visit", fmt.Sprintf("The visit to %s is on %s now, and stays there.", c.p.apiary.Name, c.p.say.Day(to))
	c.undo("Put it back on "+c.p.say.ShortDay(c.v.On), "move", [2]string{"to", c.v.On.String()}, [2]string{"sure", "yes"})
	if c.v.On < c.p.today {
		c.said.Undo = nil
	}
	c.made, err = c.tx.MoveVisit(c.ctx, c.v.ID, c.sequence, to, c.p.today)
	return err
}

func (c *visitChange) pin() (err error) {
	c.audit, c.said.Text = "pin visit", "This visit stays on its day, whatever planning finds."
	c.undo("Let planning move it", "unpin")
	c.made, err = c.tx.PinVisit(c.ctx, c.v.ID, c.sequence, true, c.p.today)
	return err
}

func (c *visitChange) unpin() (err error) {
	c.audit, c.said.Text = "unpin visit", "Planning may move this visit again."
	c.made, err = c.tx.PinVisit(c.ctx, c.v.ID, c.sequence, false, c.p.today)
	return err
}

func (c *visitChange) cancel() (err error) {
	if !c.form.has("sure") {
		return &question{fmt.Sprintf("Cancel the visit to %s on %s? Its boxes are planned anew, and whoever had heard of it is told.", c.p.apiary.Name, c.p.say.Day(c.v.On))}
	}
	c.audit, c.said.Text = "cancel visit", fmt.Sprintf("The visit to %s on %s is cancelled.", c.p.apiary.Name, c.p.say.Day(c.v.On))
	c.made, err = c.tx.CancelVisit(c.ctx, c.v.ID, c.sequence, c.p.today)
	return err
}

// finish marks the visit done, on its own day or, when that is to come, today.
func (c *visitChange) finish() error { return c.finishOn(min(c.v.On, c.p.today)) }

func (c *visitChange) finishOn(on scheduler.Date) (err error) {
	c.audit, c.said.Text = "finish visit", fmt.Sprintf("The visit to %s is done.", c.p.apiary.Name)
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
	c.audit, c.said.Text = "put box back on visit", fmt.Sprintf("%s %s may be opened on this visit again.", hive, box)
	if out {
		c.audit, c.said.Text = "take box off visit", fmt.Sprintf("%s %s is off this visit, and so are the boxes below it.", hive, box)
		c.undo("Put it back", "leave-in", [2]string{"box", fmt.Sprint(id)})
	}
	c.made, err = c.tx.LeaveBoxOut(c.ctx, c.v.ID, c.sequence, id, out, c.p.today)
	return err
}

// sureView asks back before something unusual, with all that was sent.
type sureView struct {
	Text   string
	Action string
	Fields [][2]string
	Back   string
}

// keep returns the fields of a form, for asking again.
func keep(f *form) [][2]string {
	var out [][2]string
	for name, values := range f.values {
		for _, v := range values {
			if name != "sure" && !strings.HasPrefix(name, "_") {
				out = append(out, [2]string{name, v})
			}
		}
	}
	return out
}
