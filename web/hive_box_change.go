package web

import (
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

func (c *hiveChange) addBox() (err error) {
	b := scheduler.Box{Name: c.form.name("name", 40), Kind: c.form.values.Get("kind"), SetUpOn: c.day("set_up_on")}
	if _, ok := c.p.club.Kind(b.Kind); !ok {
		c.form.bad("kind", "form.no-kind", cut(b.Kind))
	}
	c.markFree(b.Name)
	if !c.form.ok() {
		return c.form.refuse()
	}
	position := 0
	if c.form.values.Get("where") == "bottom" {
		position = 1
	}
	c.audit, c.said.Text = "add box", c.p.say.Say("page.hive.said-added", b.Name, text.Hive(c.h.Name))
	_, c.made, err = c.tx.AddBox(c.ctx, c.h.ID, position, b, c.p.today)
	return err
}

// bringBack puts a box from the store or from a borrower on the hive.
func (c *hiveChange) bringBack() (err error) {
	on := c.day("on")
	if !c.form.ok() {
		return c.form.refuse()
	}
	c.audit, c.said.Text = "put box on hive", c.p.say.Say("page.hive.said-back")
	to := scheduler.BoxPlace{From: on, Where: scheduler.OnHive, HiveID: c.h.ID}
	if c.form.values.Get("where") == "bottom" {
		to.Position = 1
	}
	c.made, err = c.tx.MoveBox(c.ctx, c.form.id("box"), to, c.p.today)
	return err
}

// markFree refuses a mark that a box of the hive has, but for some.
func (c *hiveChange) markFree(mark string, but ...int64) {
	for _, b := range c.h.Boxes {
		if strings.EqualFold(b.Name, mark) && !slices.Contains(but, b.ID) {
			c.form.bad("name", "form.mark-here", b.Name)
		}
	}
}

// box is the box of the form, which must stand on the hive.
func (c *hiveChange) box() (*scheduler.Box, error) {
	if b := c.h.Box(c.form.id("box")); b != nil {
		return b, nil
	}
	return nil, store.ErrStackChanged
}

func (c *hiveChange) saveBox() error {
	b, err := c.box()
	if err != nil {
		return err
	}
	now := scheduler.Box{ID: b.ID, Name: c.form.name("name", 40), Kind: c.form.values.Get("kind"), SetUpOn: b.SetUpOn, Repaired: b.Repaired}
	if _, ok := c.p.club.Kind(now.Kind); !ok {
		c.form.bad("kind", "form.no-kind", cut(now.Kind))
	}
	if now.Name != b.Name {
		c.markFree(now.Name, b.ID)
	}
	if !c.form.ok() {
		return c.form.refuse()
	}
	c.audit, c.said.Text = "save box", c.p.say.Say("page.form.saved")
	c.made, err = c.tx.UpdateBox(c.ctx, now, c.p.today)
	return err
}

func (c *hiveChange) repaired() error {
	b, err := c.box()
	if err != nil {
		return err
	}
	on := c.day("on")
	if !c.form.ok() {
		return c.form.refuse()
	}
	now := *b
	now.Repaired = append(slices.Clone(b.Repaired), on)
	slices.Sort(now.Repaired)
	now.Repaired = slices.Compact(now.Repaired)
	c.audit, c.said.Text = "note a repair", c.p.say.Say("page.hive.said-repaired", b.Name)
	c.made, err = c.tx.UpdateBox(c.ctx, now, c.p.today)
	return err
}

// moveBox takes a box to another hive, into the store, to a borrower, or out
// of use.
func (c *hiveChange) moveBox() error {
	b, err := c.box()
	if err != nil {
		return err
	}
	to := scheduler.BoxPlace{From: c.day("on")}
	where := c.form.values.Get("to")
	c.audit = "move box"
	switch {
	case strings.HasPrefix(where, "hive-"):
		to.Where, to.HiveID = scheduler.OnHive, parseID(strings.TrimPrefix(where, "hive-"))
		if c.form.values.Get("where") == "bottom" {
			to.Position = 1
		}
		c.said.Text = c.p.say.Say("page.hive.said-box-moved", b.Name)
	case where == "store":
		to.Where, c.said.Text = scheduler.InStore, c.p.say.Say("page.hive.said-stored", b.Name)
	case where == "lent":
		to.Where, to.LentTo, to.Until = scheduler.Lent, c.form.text("lent_to", 80), c.form.date("until")
		c.said.Text = c.p.say.Say("page.hive.said-lent", b.Name)
	case where == "retired":
		if !c.form.has("sure") {
			return &question{text.New("page.question.retire-box", b.Name)}
		}
		to.Where, c.audit, c.said.Text = scheduler.Retired, "retire box", c.p.say.Say("page.hive.said-box-retired", b.Name)
	default:
		c.form.bad("to", "form.where-to")
	}
	if !c.form.ok() {
		return c.form.refuse()
	}
	c.made, err = c.tx.MoveBox(c.ctx, b.ID, to, c.p.today)
	return err
}
