package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"slices"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// saveColony takes a step further: asks for the order of a stack, says what it means, or
// saves it.
func (s *Server) saveColony(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	if other := f.id("other"); r.PathValue("what") == string(scheduler.United) && f.values.Get("takes") == "here" && other != 0 {
		f.values.Set("other", r.PathValue("id")) // the other way round: its boxes come here
		f.values.Set("takes", "other")
		r.SetPathValue("id", itoa(other))
	}
	c, err := s.readStep(r, who, f)
	if err != nil {
		return err
	}
	if c.what == "" {
		return s.nothingHere(w, r)
	}
	v := c.page() // with an id
	if f.has("again") {
		return s.showColony(w, r, c, http.StatusOK, v)
	}
	step, second := c.step()
	if c.what == scheduler.United && f.ok() && !f.has("ordered") {
		return s.askOrder(w, r, c, v, step)
	}
	if f.ok() && !f.has("sure") {
		if v.Means, err = s.means(r.Context(), c, step, second); err == nil {
			v.Fields = keep(f)
			return s.showColony(w, r, c, http.StatusOK, v)
		}
	}
	if f.ok() && f.has("sure") {
		err = s.noteColony(w, r, c, step, second)
	}
	var refused *scheduler.ColonyRefusal
	switch {
	case errors.As(err, &refused):
		f.Problems[cmp.Or(refused.Field, "on")] = refused.Text
	case err != nil:
		return err
	case f.ok():
		return nil
	}
	if c.what == scheduler.United && f.has("ordered") && len(f.Problems["order"].Key) > 0 {
		return s.askOrder(w, r, c, c.page(), step)
	}
	return s.showColony(w, r, c, http.StatusUnprocessableEntity, c.page())
}

// step is what the form says; second is the new colony that comes into the boxes of one
// that died or was sold, nil for none.
func (c *colonyStep) step() (step scheduler.ColonyStep, second *scheduler.ColonyStep) {
	f := c.form
	step = scheduler.ColonyStep{
		ID: f.values.Get("id"), HiveID: c.h.ID, What: c.what, On: f.date("on"), By: c.who.MemberID,
		Note: f.text("note", 300),
	}
	id, err := uuid.Parse(step.ID)
	if err != nil {
		id = uuid.New()
	}
	step.ID = id.String()
	if aloneDays[c.what] > 0 && f.has("alone_days") {
		if days := f.whole("alone_days", 0, 120); days > 0 && step.On != 0 {
			step.AloneUntil = step.On + scheduler.Date(days-1)
		}
	}
	switch c.what {
	case scheduler.Split:
		step.Name, step.ApiaryID, step.Boxes = f.name("name", 60), f.id("apiary"), f.ids("box")
		step.Queen = scheduler.Queen(f.values.Get("queen"))
		c.known(step.ApiaryID)
	case scheduler.United:
		step.OtherID, step.Queen = f.id("other"), scheduler.Queen(f.values.Get("queen"))
	case scheduler.Moved:
		step.ApiaryID = f.id("apiary")
		c.known(step.ApiaryID)
	case scheduler.Died, scheduler.Sold:
		step.Whom = f.text("whom", 80)
		step.Rest = scheduler.BoxesGo(f.values.Get("rest"))
		if step.Rest == restNew {
			step.Rest = scheduler.BoxesStay
			second = &scheduler.ColonyStep{
				ID: uuid.NewSHA1(id, []byte("new colony")).String(), HiveID: c.h.ID, What: scheduler.NewColony,
				On: f.date("new_on"), By: c.who.MemberID,
			}
			if second.On == 0 {
				f.bad("new_on", "colony.no-new-day")
			}
		}
	}
	if c.what == scheduler.Split || c.what == scheduler.United {
		if !slices.Contains([]scheduler.Queen{scheduler.QueenUnknown, scheduler.QueenStays, scheduler.QueenGoes}, step.Queen) {
			f.bad("queen", "colony.no-queen")
		}
	}
	return step, second
}

// known asks that an apiary is one of those that were offered.
func (c *colonyStep) known(apiary int64) {
	if !slices.ContainsFunc(c.apiaries(), func(a choice) bool { return a.ID == apiary }) {
		c.form.bad("apiary", "colony.no-apiary")
	}
}

// noteColony saves a step.
func (s *Server) noteColony(w http.ResponseWriter, r *http.Request, c *colonyStep, step scheduler.ColonyStep, second *scheduler.ColonyStep) error {
	var said notice
	err := s.cfg.Store.InClub(r.Context(), c.who.ClubID, func(tx *store.Tx) error {
		if c.what == scheduler.United {
			if err := s.ordered(r.Context(), tx, c, &step); err != nil {
				return err
			}
		}
		made, err := tx.Happen(r.Context(), step, c.p.today)
		if err == nil && second != nil {
			made, err = tx.Happen(r.Context(), *second, c.p.today)
			err = ofSecond(err)
		}
		if err != nil {
			return err
		}
		tx.Knows(c.who.MemberID, scheduler.Visit{}, made, c.p.today)
		said = notice{
			Text:  c.p.say.Say("page.colony.noted", text.Hive(c.h.Name), c.what, text.Full(step.On)),
			Lines: c.p.consequences(made, 0),
		}
		if second == nil {
			said.Undo = &undo{c.p.say.Say("page.recent.undo"), hivePath(c.h.ID) + "/undo-event", [][2]string{{"event", step.ID}}}
		}
		return c.who.note(r, tx, "note what happened to a hive", text.New("page.colony.noted", c.h.Name, c.what, text.Full(step.On)))
	})
	if err != nil {
		return err
	}
	to := c.h.ID
	if c.what == scheduler.United {
		to = step.OtherID // the hive that there still is
	}
	return s.done(w, r, hivePath(to), said)
}

// ofSecond says what is wrong with a new colony at its own field.
func ofSecond(err error) error {
	if refused := new(scheduler.ColonyRefusal); errors.As(err, &refused) {
		return &scheduler.ColonyRefusal{Field: "new_on", Text: refused.Text}
	}
	return err
}

func hivePath(hive int64) string { return "/hive/" + itoa(hive) }

// undoEvent takes back what happened to the colony of a hive.
func (c *hiveChange) undoEvent() error {
	e, made, err := c.tx.UndoEvent(c.ctx, c.h.ID, c.form.values.Get("event"), c.p.today)
	var refused *scheduler.ColonyRefusal
	if errors.As(err, &refused) {
		return newProblem(http.StatusConflict, "problem.not-undone", refused.Text)
	}
	if err != nil {
		return err
	}
	c.made, c.to, c.audit = made, hivePath(c.h.ID), "undo what happened to a hive"
	c.said.Text = c.p.say.Say("page.colony.undone", text.Hive(c.h.Name), e.What, text.Full(e.On))
	return nil
}

// ordered reads the stack that two hives become, from the bottom up.
func (s *Server) ordered(ctx context.Context, tx *store.Tx, c *colonyStep, step *scheduler.ColonyStep) error {
	club, err := tx.ColonyRecords(ctx, step.HiveID, step.OtherID, 0, c.p.today)
	if err != nil {
		return err
	}
	return c.order(club, step)
}
