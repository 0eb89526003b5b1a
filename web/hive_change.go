package web

import (
	"context"
	"maps"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// hiveChange is one change to a hive or its boxes under way.
type hiveChange struct {
	ctx   context.Context
	tx    *store.Tx
	p     *apiaryRecords
	h     *scheduler.Hive
	form  *form
	by    *visitor
	said  notice
	made  *store.Replanned
	audit string
	to    string // where to go on; empty for the hive's page
}

// hiveDeeds are the changes by the last part of their address.
var hiveDeeds = map[string]func(*hiveChange) error{
	"save":     (*hiveChange).save,
	"leave":    (*hiveChange).leaveAlone,
	"retire":   (*hiveChange).retire,
	"order":    (*hiveChange).order,
	"box-add":  (*hiveChange).addBox,
	"box-back": (*hiveChange).bringBack,
	"box-save": (*hiveChange).saveBox,
	"box-move": (*hiveChange).moveBox,
	"repaired": (*hiveChange).repaired,
	"roughly":  (*hiveChange).roughly,

	"roughly-not": (*hiveChange).notRoughly,
	"undo-event":  (*hiveChange).undoEvent,
}

func (s *Server) changeHive(w http.ResponseWriter, r *http.Request, who *visitor) error {
	do, ok := hiveDeeds[r.PathValue("deed")]
	if !ok {
		return s.nothingHere(w, r)
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p, h, err := s.hiveRecords(r, who, nil)
	if err != nil {
		return err
	}
	if !who.mayTend(p.apiary) {
		return errNotYours
	}
	path := settingsPath(h.ID)
	var said notice
	to := path
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		c := &hiveChange{ctx: r.Context(), tx: tx, p: p, h: clone(h), form: f, by: who}
		if err := do(c); err != nil {
			return err
		}
		if !f.ok() {
			return f.refuse()
		}
		tx.Knows(who.MemberID, scheduler.Visit{}, c.made, p.today)
		c.said.Lines = append(c.said.Lines, p.consequences(c.made, 0)...)
		said = c.said
		if c.to != "" {
			to = c.to
		}
		return tx.Audit(c.ctx, store.AuditEntry{MemberID: who.MemberID, Action: c.audit, Subject: p.apiary.Name + ", " + h.Name})
	})
	if q, asks := err.(*question); asks {
		return s.askBack(w, r, who, p.club, h.Name, f, q, path)
	}
	if err != nil && f.refused(err) {
		return s.showSettings(w, r, who, http.StatusUnprocessableEntity, &hiveAgain{r.PathValue("deed"), f})
	}
	if err != nil {
		return err
	}
	return s.done(w, r, to, said)
}

// clone copies a hive as far as changes touch it: fn of a transaction may run
// again.
func clone(h *scheduler.Hive) *scheduler.Hive {
	c := *h
	c.LeaveAlone, c.Requeened = slices.Clone(h.LeaveAlone), slices.Clone(h.Requeened)
	return &c
}

// refuse says everything that is wrong with a form, in a page.
func (f *form) refuse() error {
	var wrong text.Sentences
	for _, field := range slices.Sorted(maps.Keys(f.Problems)) {
		wrong = append(wrong, text.New("form.named", fieldName(field), f.Problems[field]))
	}
	return newProblem(http.StatusUnprocessableEntity, "problem.not-saved", wrong)
}

func (c *hiveChange) update() (err error) {
	if !c.form.ok() {
		return c.form.refuse()
	}
	c.made, err = c.tx.UpdateHive(c.ctx, *c.h, c.p.today)
	return err
}

func (c *hiveChange) save() error {
	c.audit, c.said.Text = "save hive", c.p.say.Say("page.form.saved")
	c.h.Name = c.form.name("name", 60)
	switch space := scheduler.BeeSpace(c.form.values.Get("bee_space")); space {
	case scheduler.TopSpace, scheduler.BottomSpace, "":
		c.h.BeeSpace = space
	default:
		c.form.bad("bee_space", "form.no-side", cut(string(space)))
	}
	return c.update()
}

func (c *hiveChange) leaveAlone() (err error) {
	c.audit = "change leave-alone days"
	days, changed, err := changePeriods(c.form, c.h.LeaveAlone, "page.span.added-alone")
	if err != nil {
		return err
	}
	c.said.Undo = putBack(c.p.say, c.form, c.h.LeaveAlone, "/hive/"+itoa(c.h.ID)+"/leave")
	c.h.LeaveAlone, c.said.Text = days, c.p.say.Tell(changed)
	return c.update()
}

// day reads a day that is not to come.
func (c *hiveChange) day(field string) scheduler.Date {
	d := c.form.pastDate(field, c.p.today)
	if d == 0 {
		c.form.bad(field, "form.give-day")
	}
	return d
}

func (c *hiveChange) retire() error {
	if len(c.h.Boxes) > 0 {
		return newProblem(http.StatusConflict, "problem.hive-not-empty")
	}
	if !c.form.has("sure") {
		return &question{text.New("page.question.retire-hive", c.h.Name)}
	}
	c.audit, c.said.Text = "retire hive", c.p.say.Say("page.hive.said-retired", text.Hive(c.h.Name))
	c.h.RetiredOn = c.p.today
	return c.update()
}

func (c *hiveChange) order() (err error) {
	c.audit, c.said.Text = "change the stack", c.p.say.Say("page.hive.said-order")
	c.made, err = c.tx.OrderStack(c.ctx, c.h.ID, c.form.ids("box"), c.p.today)
	return err
}
