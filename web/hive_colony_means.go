package web

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// order reads where each box of two hives stands when they are one: a place from 1 at the
// bottom, or none for the store, which only boxes of the hive that ends can go to.
func (c *colonyStep) order(club *scheduler.Club, step *scheduler.ColonyStep) error {
	_, h := club.HiveByID(step.HiveID)
	_, other := club.HiveByID(step.OtherID)
	if h == nil || other == nil || h == other {
		return &scheduler.ColonyRefusal{Field: "other", Text: text.New("colony.no-other")}
	}
	type placed struct {
		id int64
		at int
	}
	var all []placed
	taken := map[int]bool{}
	for _, of := range []*scheduler.Hive{other, h} {
		for i := range of.Boxes {
			typed := strings.TrimSpace(c.form.values.Get("place-" + itoa(of.Boxes[i].ID)))
			if typed == "" && of == h {
				continue
			}
			at, err := strconv.Atoi(typed)
			if err != nil || at < 1 || taken[at] {
				return &scheduler.ColonyRefusal{Field: "order", Text: text.New("colony.order")}
			}
			taken[at] = true
			all = append(all, placed{of.Boxes[i].ID, at})
			if of == h {
				step.Boxes = append(step.Boxes, of.Boxes[i].ID)
			}
		}
	}
	slices.SortFunc(all, func(a, b placed) int { return cmp.Compare(a.at, b.at) })
	for _, x := range all {
		step.Order = append(step.Order, x.id)
	}
	return nil
}

// askOrder asks how the boxes of two hives stand when they are one.
func (s *Server) askOrder(w http.ResponseWriter, r *http.Request, c *colonyStep, v colonyPage, step scheduler.ColonyStep) error {
	club, err := s.colonyRecords(r.Context(), c, step)
	if err != nil {
		return err
	}
	_, h := club.HiveByID(step.HiveID)
	_, other := club.HiveByID(step.OtherID)
	if other == nil || other.ID == h.ID {
		c.form.bad("other", "colony.no-other")
		return s.showColony(w, r, c, http.StatusUnprocessableEntity, c.page())
	}
	place := 0
	for _, of := range []*scheduler.Hive{other, h} {
		for i := range of.Boxes {
			b := &of.Boxes[i]
			place++
			v.Stack = append(v.Stack, stackChoice{
				boxChoice{b.ID, b.Name, c.p.say.Kind(b.Kind), false},
				of.Name,
				colonyForm{c.form}.Was("place-"+itoa(b.ID), strconv.Itoa(place)), of == h,
			})
		}
	}
	slices.Reverse(v.Stack) // drawn from the top
	v.Fields = slices.DeleteFunc(keep(c.form), func(f [2]string) bool { return strings.HasPrefix(f[0], "place-") || f[0] == "ordered" })
	status := http.StatusOK
	if !c.form.ok() {
		status = http.StatusUnprocessableEntity
	}
	return s.showColony(w, r, c, status, v)
}

func (s *Server) colonyRecords(ctx context.Context, c *colonyStep, step scheduler.ColonyStep) (club *scheduler.Club, err error) {
	err = s.cfg.Store.InSnapshot(ctx, c.who.ClubID, func(tx *store.Tx) error {
		tx.Last()
		club, err = tx.ColonyRecords(ctx, step.HiveID, step.OtherID, step.ApiaryID, c.p.today)
		return err
	})
	return club, err
}

// means says what a step would do to boxes, dates and visits, by doing it to the records as
// they were read.
func (s *Server) means(ctx context.Context, c *colonyStep, step scheduler.ColonyStep, second *scheduler.ColonyStep) ([]string, error) {
	club, err := s.colonyRecords(ctx, c, step)
	if err != nil {
		return nil, err
	}
	if c.what == scheduler.United {
		if err := c.order(club, &step); err != nil {
			return nil, err
		}
	}
	if c.what == scheduler.Split {
		step.OtherID = 1 << 62 // of a hive that is not yet
	}
	before := club.Visits
	e, err := club.Happen(&step, c.p.today)
	if err == nil && second != nil {
		_, err = club.Happen(second, c.p.today)
		err = ofSecond(err)
	}
	if err != nil {
		return nil, err
	}
	out := []string{c.p.say.Tell(c.p.eventWords(club, step.HiveID, e))}
	add := func(key string, args ...any) { out = append(out, c.p.say.Say("page.colony.means."+key, args...)) }
	if e.Alone.From != 0 {
		add("alone", text.Full(e.Alone.Until))
	}
	switch c.what {
	case scheduler.Swarmed, scheduler.Requeened:
		add("gluing")
	case scheduler.Split, scheduler.United:
		add("gluing-boxes")
	case scheduler.Moved:
		add("season")
	case scheduler.Died, scheduler.Sold:
		switch {
		case second != nil:
			add("still-until", text.Full(second.On))
		case e.Ended:
			add("ended")
		default:
			add("still")
		}
	case scheduler.NewColony:
		add("new")
	}
	return append(out, c.visitsThen(club, before, &step)...), nil
}

// visitsThen says what becomes of the visits that are planned, and when the hives of a step
// are next opened.
func (c *colonyStep) visitsThen(club *scheduler.Club, before []scheduler.Visit, step *scheduler.ColonyStep) []string {
	apiaries := []int64{c.p.apiary.ID}
	for _, id := range []int64{step.HiveID, step.OtherID} {
		if a, _ := club.HiveByID(id); a != nil && !slices.Contains(apiaries, a.ID) {
			apiaries = append(apiaries, a.ID)
		}
	}
	var then, next []string
	for _, id := range apiaries {
		a, plan := club.Apiary(id), scheduler.PlanApiary(club, id, c.p.today)
		then = append(then, c.visitsOf(a, before, plan)...)
		for _, hive := range []int64{step.HiveID, step.OtherID} {
			h := a.Hive(hive)
			if h == nil || len(h.Boxes) == 0 {
				continue
			}
			if at := slices.IndexFunc(plan.Visits, func(x scheduler.Visit) bool { return opens(&x, h) }); at >= 0 {
				next = append(next, c.p.say.Say("page.colony.means.next", text.Hive(h.Name), text.Full(plan.Visits[at].On)))
			}
		}
	}
	if len(then) == 0 {
		then = []string{c.p.say.Say("page.colony.means.no-visit")}
	}
	return append(then[:min(len(then), 5)], next...)
}

// soon is for how many days ahead it is told what becomes of visits: later ones move
// with every record.
const soon = 60

// visitsOf says what becomes of the next visits to an apiary.
func (c *colonyStep) visitsOf(a *scheduler.Apiary, before []scheduler.Visit, plan *scheduler.Plan) (out []string) {
	add := func(key string, args ...any) { out = append(out, c.p.say.Say("page.colony.means."+key, args...)) }
	for _, v := range before {
		if v.ApiaryID != a.ID || !v.Status.Open() || v.On < c.p.today || v.On-c.p.today >= soon {
			continue
		}
		at := slices.IndexFunc(plan.Visits, func(x scheduler.Visit) bool { return x.ID == v.ID })
		switch {
		case at < 0:
			add("no-need", a.Name, text.Full(v.On))
		case plan.Visits[at].On != v.On:
			add("moves", a.Name, text.Full(v.On), text.Full(plan.Visits[at].On))
		case len(plan.Visits[at].Boxes) != len(v.Boxes):
			add("boxes", a.Name, text.Full(v.On), len(plan.Visits[at].Boxes), len(v.Boxes))
		}
	}
	for _, v := range plan.Visits {
		if v.ID == 0 && v.On-c.p.today < soon {
			add("added", a.Name, text.Full(v.On))
		}
	}
	return out
}

// eventLine is what happened to a colony, in the member's words.
type eventLine struct {
	ID       string
	HiveID   int64 // at which it is noted
	On, ISO  string
	Says     text.Text
	Note, By string
	Undo     bool
	WhyNot   text.Text // nothing where it may be undone, or by nobody
}

// eventWords says what happened, as told at the hive where it is noted.
func (p *apiaryRecords) eventWords(club *scheduler.Club, hive int64, e *scheduler.ColonyEvent) text.Text {
	var went, stored []string
	for _, b := range e.Boxes {
		name, place := eventBoxAt(club, b.BoxID, e.On)
		if place.Where == scheduler.InStore {
			stored = append(stored, name)
		} else {
			went = append(went, name)
		}
	}
	other := hiveIn(club, e.OtherID)
	said := text.New("page.colony.said." + string(e.What))
	switch {
	case e.What == scheduler.Split:
		said = text.New("page.colony.said.split", went, other)
	case e.What == scheduler.United && len(went) > 0:
		said = text.New("page.colony.said.united", went, other)
	case e.What == scheduler.United:
		said = text.New("page.colony.said.united-bees", other)
	case e.What == scheduler.Moved:
		from, to := "?", "?"
		if a := club.Apiary(e.FromApiary); a != nil {
			from = a.Name
		}
		for i := range club.Former {
			if club.Former[i].ID == e.FromApiary {
				from = club.Former[i].Name
			}
		}
		if a, _ := club.HiveByID(hive); a != nil {
			to = a.Name
		}
		said = text.New("page.colony.said.moved", from, to)
	case e.What == scheduler.Sold && e.Whom != "":
		said = text.New("page.colony.said.sold-to", e.Whom)
	case e.What == scheduler.NewColony && e.On > p.today:
		said = text.New("page.colony.said.new-colony-to-come")
	}
	says := text.Sentences{said}
	if len(stored) > 0 {
		says = append(says, text.New("page.colony.said.stored", stored))
	}
	if e.What == scheduler.Sold && len(went) > 0 {
		says = append(says, text.New("page.colony.said.along", went))
	}
	if e.Ended {
		says = append(says, text.New("page.colony.said.ended"))
	}
	return text.New("page.colony.said.all", says)
}

// eventBoxAt is the mark of a box, and where an event of a day took it.
func eventBoxAt(club *scheduler.Club, box int64, on scheduler.Date) (name string, at scheduler.BoxPlace) {
	b := findBoxIn(club, box)
	if b == nil {
		return "?", at
	}
	for _, p := range b.Places {
		if p.From == on {
			at = p
		}
	}
	return b.Name, at
}

func findBoxIn(club *scheduler.Club, box int64) *scheduler.Box {
	for i := range club.Apiaries {
		if _, b := club.Apiaries[i].Box(box); b != nil {
			return b
		}
	}
	for i := range club.Spare {
		if club.Spare[i].ID == box {
			return &club.Spare[i]
		}
	}
	return nil
}

func hiveIn(club *scheduler.Club, id int64) string {
	if _, h := club.HiveByID(id); h != nil {
		return h.Name
	}
	return "?"
}

// events lists what happened to the colony of a hive, the latest first: what is noted at
// it, at others of which it took boxes, and new queens of which no more is known.
func (p *apiaryRecords) events(h *scheduler.Hive, mayTend bool) (out []eventLine) {
	type dated struct {
		on   scheduler.Date
		line eventLine
	}
	var all []dated
	for i := range p.club.Apiaries {
		for j := range p.club.Apiaries[i].Hives {
			at := &p.club.Apiaries[i].Hives[j]
			for k := range at.Events {
				e := &at.Events[k]
				if at.ID != h.ID && e.OtherID != h.ID {
					continue
				}
				line := eventLine{ID: e.ID, HiveID: at.ID, On: p.say.PlainDay(e.On), ISO: e.On.String(), Says: p.eventWords(p.club, at.ID, e), Note: e.Note, By: p.names.Member(e.By)}
				if at.ID != h.ID {
					line.Says = text.New("page.colony.said.at", at.Name, line.Says)
				}
				if mayTend && at.ID == h.ID {
					err := p.club.MayUndo(at.ID, e.ID)
					refused, _ := err.(*scheduler.ColonyRefusal)
					if line.Undo = err == nil; refused != nil {
						line.WhyNot = refused.Text
					}
				}
				all = append(all, dated{e.On, line})
			}
		}
	}
	for _, on := range h.Requeened {
		all = append(all, dated{on, eventLine{On: p.say.PlainDay(on), ISO: on.String(), Says: text.New("page.colony.said.queen-or-colony")}})
	}
	slices.SortStableFunc(all, func(a, b dated) int { return cmp.Compare(a.on, b.on) })
	for _, x := range slices.Backward(all) {
		out = append(out, x.line)
	}
	return out
}

// befell lists what happened to the colonies of the hives on which a box stood while it
// stood there, or that took it elsewhere, the latest first.
func (p *apiaryRecords) befell(b *scheduler.Box, present int64) (out []eventLine) {
	for i := range p.club.Apiaries {
		for j := range p.club.Apiaries[i].Hives {
			h := &p.club.Apiaries[i].Hives[j]
			for k := range h.Events {
				e := &h.Events[k]
				went := slices.ContainsFunc(e.Boxes, func(x scheduler.EventBox) bool { return x.BoxID == b.ID })
				if on := b.HiveOn(e.On, present); went || e.On >= b.SetUpOn && (on == h.ID || on != 0 && on == e.OtherID) {
					out = append(out, eventLine{HiveID: h.ID, On: p.say.PlainDay(e.On), ISO: e.On.String(), Says: text.New("page.colony.befell", text.Hive(h.Name), e.What)})
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b eventLine) int { return cmp.Compare(b.ISO, a.ISO) })
	return out
}
