package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// apiaryChange is one change to an apiary under way.
type apiaryChange struct {
	ctx   context.Context
	tx    *store.Tx
	p     *apiaryRecords
	a     scheduler.Apiary
	form  *form
	by    *visitor
	said  notice
	made  *store.Replanned
	audit string
	to    string
}

type apiaryDeed struct {
	organiser bool
	do        func(*apiaryChange) error
}

// apiaryDeeds are the changes by the last part of their address.
var apiaryDeeds = map[string]apiaryDeed{
	"save":       {false, (*apiaryChange).save},
	"keepers":    {true, (*apiaryChange).keepers},
	"no-go":      {false, (*apiaryChange).noGo},
	"standstill": {false, (*apiaryChange).standstill},
	"remove":     {true, (*apiaryChange).remove},
}

func (s *Server) changeApiary(w http.ResponseWriter, r *http.Request, who *visitor) error {
	deed, ok := apiaryDeeds[r.PathValue("deed")]
	if !ok {
		return s.nothingHere(w, r)
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p, opened, err := s.apiaryAndOpenings(r, who)
	if err != nil {
		return err
	}
	if !who.mayTend(p.apiary) || deed.organiser && who.Role != scheduler.Organiser {
		return errNotYours
	}
	if r.PathValue("deed") == "save" {
		place, ask, err := readPlace(f, nearText(p.club.Apiaries), p.say)
		if err != nil {
			return err
		}
		if ask {
			page := p.apiaryView(opened, who)
			page.Fields = f.echoApiary(p.apiary, p.say)
			page.Fields.Place = place
			page.Fields.Place.Map = spotFor(f, nil, true)
			return s.showTo(w, r, who, p.club, f.status(), "apiary", p.apiary.Name, page)
		}
	}
	var c *apiaryChange
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		c = &apiaryChange{ctx: r.Context(), tx: tx, p: p, a: *p.apiary, form: f, by: who, to: fmt.Sprintf("/apiary/%d", p.apiary.ID)}
		if err := deed.do(c); err != nil {
			return err
		}
		tx.Knows(who.MemberID, scheduler.Visit{}, c.made, p.today)
		return tx.Audit(c.ctx, store.AuditEntry{MemberID: who.MemberID, Action: c.audit, Subject: c.a.Name})
	})
	if q, asks := err.(*question); asks {
		return s.askBack(w, r, who, p.club, p.apiary.Name, f, q, fmt.Sprintf("/apiary/%d", p.apiary.ID))
	}
	if !f.ok() && r.PathValue("deed") == "save" {
		page := p.apiaryView(opened, who)
		page.Fields = f.echoApiary(p.apiary, p.say)
		return s.showTo(w, r, who, p.club, http.StatusUnprocessableEntity, "apiary", p.apiary.Name, page)
	}
	if err != nil {
		return err
	}
	c.said.Lines = append(c.said.Lines, p.consequences(c.made, 0)...)
	return s.done(w, r, c.to, c.said)
}

func (c *apiaryChange) update() (err error) {
	if !c.form.ok() {
		return c.form.refuse()
	}
	c.made, err = c.tx.UpdateApiary(c.ctx, c.a, c.p.today)
	return err
}

func (c *apiaryChange) save() error {
	c.audit, c.said.Text = "save apiary", c.p.say.Say("page.form.saved")
	readApiary(c.form, &c.a)
	return c.update()
}

func (c *apiaryChange) keepers() error {
	c.said.Undo = &undo{Label: c.p.say.Say("page.visit.said.take-back"), Action: c.to + "/keepers"}
	for i, id := range c.a.Keepers {
		c.said.Undo.Fields = append(c.said.Undo.Fields, [2]string{fmt.Sprintf("keeper-%d", i), itoa(id)})
	}
	c.a.Keepers = nil
	for i := range keeperRoles {
		id := c.form.id(fmt.Sprintf("keeper-%d", i))
		if id != 0 && !slices.Contains(c.a.Keepers, id) {
			c.a.Keepers = append(c.a.Keepers, id)
		}
	}
	c.audit, c.said.Text = "change keepers", c.p.say.Say("page.apiary.said-no-keepers")
	if len(c.a.Keepers) > 0 {
		c.said.Text = c.p.say.Say("page.apiary.keepers", c.p.people(c.a.Keepers))
	}
	return c.update()
}

func (c *apiaryChange) noGo() (err error) {
	c.audit = "change no-go days"
	days, changed, err := changePeriods(c.form, c.a.NoGo, "page.span.added-no-visits")
	if err != nil {
		return err
	}
	c.said.Undo = putBack(c.p.say, c.form, c.a.NoGo, c.to+"/no-go")
	c.a.NoGo, c.said.Text = days, c.p.say.Tell(changed)
	return c.update()
}

func (c *apiaryChange) standstill() (err error) {
	c.audit = "change standstill"
	days, changed, err := changePeriods(c.form, c.a.Standstill, "page.span.added-standstill")
	if err != nil {
		return err
	}
	c.said.Undo = putBack(c.p.say, c.form, c.a.Standstill, c.to+"/standstill")
	c.a.Standstill, c.said.Text = days, c.p.say.Tell(changed)
	return c.update()
}

func (c *apiaryChange) remove() error {
	if !c.form.has("sure") {
		return &question{text.New("page.question.remove-apiary", c.a.Name)}
	}
	c.audit, c.said.Text, c.to = "remove apiary", c.p.say.Say("page.apiary.said-removed", c.a.Name), "/apiaries"
	return c.tx.RemoveApiary(c.ctx, c.a.ID)
}
