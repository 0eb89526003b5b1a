package web

import (
	"maps"
	"net/http"
	"slices"
	"strconv"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// restNew is what becomes of the boxes when the next colony is on its way: they stay.
const restNew = "new"

// aloneDays is for how many days a hive is mostly left alone after something happened: while
// a queen hatches, mates and begins to lay, or the bees of two hives get used to each other
// (common practice, no source).
var aloneDays = map[scheduler.Fate]int{
	scheduler.Swarmed: 28, scheduler.Requeened: 21, scheduler.Split: 28, scheduler.United: 14, scheduler.NewColony: 14,
}

// colonyPage is one step of saying what happened to the colony of a hive.
type colonyPage struct {
	ID       int64
	Name     string
	ApiaryID int64
	Apiary   string
	What     scheduler.Fate // empty where that is chosen
	Choices  []fateChoice
	Care     []text.Text
	Form     colonyForm
	Boxes    []boxChoice
	Hives    []store.HiveName
	Apiaries []choice
	Today    string
	Last     string // the last day that can be given
	When     text.Text
	Alone    string // days for which the hive is mostly left alone; empty where that is not asked
	AloneWhy text.Text
	Stack    []stackChoice
	Wrong    []text.Text
	Means    []string // before it is saved: what it means
	Fields   [][2]string
}

type fateChoice struct {
	Fate     scheduler.Fate
	Do, Then text.Text
}

type boxChoice struct {
	ID         int64
	Name, Kind string
	Chosen     bool
}

// stackChoice is a box of two hives that become one, and its place in the stack.
type stackChoice struct {
	boxChoice
	Hive  string
	Place string // from 1 at the bottom; empty for one that goes into the store
	Comes bool
}

// colonyForm is a step as it was filled in.
type colonyForm struct {
	*form
}

// Was is what a field was filled in with, or else what stands there.
func (f colonyForm) Was(field, stands string) string {
	if _, sent := f.values[field]; sent {
		return f.values.Get(field)
	}
	return stands
}

// Wrong is what is wrong with a field; the zero Text for nothing.
func (f colonyForm) Wrong(field string) text.Text { return f.Problems[field] }

// colonyStep is a step under way.
type colonyStep struct {
	p      *apiaryRecords
	h      *scheduler.Hive
	who    *visitor
	what   scheduler.Fate
	form   *form
	others store.Others
}

// readStep reads the hive of a step and what it may lead to, for whoever may change it.
func (s *Server) readStep(r *http.Request, who *visitor, f *form) (*colonyStep, error) {
	c := &colonyStep{who: who, form: f, what: scheduler.Fate(r.PathValue("what"))}
	var err error
	c.p, c.h, err = s.hiveRecords(r, who, func(tx *store.Tx, p *apiaryRecords) (err error) {
		if who.mayTend(p.apiary) {
			tx.Last()
			c.others, err = tx.Others(r.Context(), p.apiary.ID, 200)
		}
		return err
	})
	switch {
	case err != nil:
		return nil, err
	case !who.mayTend(c.p.apiary):
		return nil, errNotYours
	case c.what != "" && !slices.Contains(scheduler.Fates, c.what):
		return nil, newProblem(http.StatusNotFound, "problem.nothing-here")
	case c.what == scheduler.Moved && who.Role != scheduler.Organiser:
		return nil, errNotYours
	}
	return c, nil
}

// askColony offers what can have happened, or asks about one of them.
func (s *Server) askColony(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, _ := newForm(nil)
	c, err := s.readStep(r, who, f)
	if err != nil {
		return err
	}
	return s.showColony(w, r, c, http.StatusOK, c.page())
}

func (s *Server) showColony(w http.ResponseWriter, r *http.Request, c *colonyStep, status int, v colonyPage) error {
	title := c.p.say.Say("page.colony.title", text.Hive(c.h.Name))
	if c.what != "" {
		title = c.p.say.Say("page.colony.befell", text.Hive(c.h.Name), c.what)
	}
	return s.showTo(w, r, c.who, c.p.club, status, "colony", title, v)
}

// page is the form of a step.
func (c *colonyStep) page() colonyPage {
	v := colonyPage{
		ID: c.h.ID, Name: c.h.Name, ApiaryID: c.p.apiary.ID, Apiary: c.p.apiary.Name, What: c.what, Form: colonyForm{c.form},
		Today: c.p.today.String(), Last: c.p.today.String(),
	}
	if c.what == "" {
		v.Choices = c.choices()
		return v
	}
	if c.what == scheduler.NewColony {
		v.Last = ""
	}
	if c.form.values.Get("id") == "" {
		c.form.values = maps.Clone(c.form.values)
		if c.form.values == nil {
			c.form.values = map[string][]string{}
		}
		c.form.values.Set("id", uuid.NewString())
	}
	v.Care, v.When = careOf(c.what), text.New("page.colony.when."+string(c.what))
	if days := aloneDays[c.what]; days > 0 {
		v.Alone, v.AloneWhy = strconv.Itoa(days), text.New("page.colony.alone-why."+string(c.what))
	}
	chosen := c.form.ids("box")
	for i := len(c.h.Boxes) - 1; i >= 0; i-- {
		b := &c.h.Boxes[i]
		v.Boxes = append(v.Boxes, boxChoice{b.ID, b.Name, c.p.say.Kind(b.Kind), slices.Contains(chosen, b.ID)})
	}
	v.Apiaries = c.apiaries()
	for _, h := range c.others.Hives {
		if h.ID != c.h.ID {
			v.Hives = append(v.Hives, h)
		}
	}
	for _, field := range slices.Sorted(maps.Keys(c.form.Problems)) {
		v.Wrong = append(v.Wrong, c.form.Problems[field])
	}
	return v
}

// apiaries are those to which a hive, or a part of it, can go: organisers know them all.
func (c *colonyStep) apiaries() (out []choice) {
	if c.what == scheduler.Split {
		out = append(out, choice{ID: c.p.apiary.ID, Name: c.p.apiary.Name})
	}
	if c.who.Role == scheduler.Organiser {
		for _, a := range c.others.Apiaries {
			out = append(out, choice{ID: a.ID, Name: a.Name})
		}
	}
	return out
}

// choices are the steps that make sense for the hive today.
func (c *colonyStep) choices() (out []fateChoice) {
	_, back, without := c.h.WithoutBees(c.p.today)
	for _, f := range scheduler.Fates {
		switch {
		case c.h.RetiredOn != 0, without != (f == scheduler.NewColony), back != 0:
			continue
		case f == scheduler.Split && len(c.h.Boxes) < 2:
			continue
		case f == scheduler.Moved && (c.who.Role != scheduler.Organiser || len(c.others.Apiaries) == 0):
			continue
		}
		out = append(out, fateChoice{f, text.New("page.colony.do." + string(f)), text.New("page.colony.then." + string(f))})
	}
	return out
}

// cares are the cautions about each thing that happens.
var cares = map[scheduler.Fate][]string{
	scheduler.Swarmed: {"swarmed-1", "swarmed-2"}, scheduler.Requeened: {"requeened-1"},
	scheduler.Split: {"split-1", "lift"}, scheduler.United: {"united-1", "lift"},
	scheduler.Moved: {"moved-1", "moved-2", "moved-3"}, scheduler.Sold: {"sold-1", "sold-2"},
	scheduler.Died: {"died-1", "died-2", "died-3"}, scheduler.NewColony: {"new-colony-1"},
}

func careOf(f scheduler.Fate) (out []text.Text) {
	for _, care := range cares[f] {
		out = append(out, text.New("page.colony.care."+care))
	}
	return out
}
