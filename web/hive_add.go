package web

import (
	"fmt"
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// What one form adds at once.
const (
	maxHives = 40
	maxStack = 8
)

// hivesForm draws several hives alike, as typed: most of an apiary stands in
// the records in half a minute, and single boxes are put right later.
type hivesForm struct {
	Hives, Boxes string // how many, and how many on each
	Lowest       string // kind of the lowest box
	Upper        string // kind of those above it
	SetUpOn      string

	hives, boxes int
	setUp        scheduler.Date
	guessed      scheduler.Date // on which day that was guessed; zero where it is known
}

// readHives reads the form. Without a day it is guessed that the boxes were last open
// a year ago: nobody knows, so somebody looks soon.
func readHives(f *form, club *scheduler.Club, today scheduler.Date) hivesForm {
	h := echoHives(f)
	h.hives, h.boxes = f.whole("hives", 1, maxHives), f.whole("boxes", 1, maxStack)
	for field, kind := range map[string]string{"lowest": h.Lowest, "upper": h.Upper} {
		if _, ok := club.Kind(kind); !ok {
			f.bad(field, "form.no-kind", cut(kind))
		}
	}
	if h.setUp = f.pastDate("set_up_on", today); h.setUp == 0 {
		h.setUp, h.guessed = scheduler.GuessedDay(today), today
	}
	return h
}

// echoHives is the form as typed.
func echoHives(f *form) hivesForm {
	return hivesForm{
		Hives: f.values.Get("hives"), Boxes: f.values.Get("boxes"), Lowest: f.values.Get("lowest"), Upper: f.values.Get("upper"),
		SetUpOn: f.values.Get("set_up_on"),
	}
}

// draw makes the hives, with names that the apiary has not used: in the
// language of whoever draws them, and then they are the hives' own.
func (h hivesForm) draw(a *scheduler.Apiary, say *text.Speaker, today scheduler.Date) []scheduler.Hive {
	used := map[string]bool{}
	for i := range a.Hives {
		used[a.Hives[i].Name] = true
		for _, b := range a.Hives[i].Boxes {
			used[b.Name] = true
		}
	}
	var out []scheduler.Hive
	for n := 1; len(out) < h.hives; n++ {
		name := say.Say("page.hives.named", n)
		if used[name] || used[fmt.Sprintf("%d-1", n)] {
			continue
		}
		hive := scheduler.Hive{ID: int64(len(out) + 1), Name: name}
		for b := range h.boxes {
			kind := h.Upper
			if b == 0 {
				kind = h.Lowest
			}
			hive.Boxes = append(hive.Boxes, scheduler.Box{
				ID: hive.ID*100 + int64(b), Name: fmt.Sprintf("%d-%d", n, b+1), Kind: kind, SetUpOn: min(h.setUp, today), GuessedOn: h.guessed,
			})
		}
		out = append(out, hive)
	}
	return out
}

// hivesView is the form that adds several hives to an apiary.
type hivesView struct {
	ID       int64
	Apiary   string
	Form     hivesForm
	Kinds    []choiceName
	Today    string
	Problems map[string]text.Text
}

func (s *Server) askHives(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showHives(w, r, who, http.StatusOK, hivesForm{Hives: "2", Boxes: "2"}, nil)
}

func (s *Server) showHives(w http.ResponseWriter, r *http.Request, who *visitor, status int, asked hivesForm, problems map[string]text.Text) error {
	p, _, err := s.apiaryAndOpenings(r, who)
	if err != nil {
		return err
	}
	if !who.mayTend(p.apiary) {
		return errNotYours
	}
	v := hivesView{ID: p.apiary.ID, Apiary: p.apiary.Name, Form: asked, Kinds: p.kinds(), Today: p.today.String(), Problems: problems}
	return s.showTo(w, r, who, p.club, status, "hives", p.say.Say("page.hives.title", p.apiary.Name), v)
}

// addHives adds hives that are alike, with their boxes, and plans them.
func (s *Server) addHives(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p, _, err := s.apiaryAndOpenings(r, who)
	if err != nil {
		return err
	}
	if !who.mayTend(p.apiary) {
		return errNotYours
	}
	asked := readHives(f, p.club, p.today)
	if !f.ok() {
		return s.showHives(w, r, who, http.StatusUnprocessableEntity, asked, f.Problems)
	}
	said := notice{}
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		club, err := tx.ApiaryForPlanning(r.Context(), p.apiary.ID, p.today) // locks it
		if err != nil {
			return err
		}
		a := *club.Apiary(p.apiary.ID)
		a.Hives = asked.draw(&a, p.say, p.today)
		if _, err := tx.Import(r.Context(), &scheduler.Club{Members: club.Members, Kinds: club.Kinds, Apiaries: []scheduler.Apiary{a}}); err != nil {
			return err
		}
		made, err := tx.Replan(r.Context(), a.ID, p.today)
		if err != nil {
			return err
		}
		added := text.New("page.hives.said", asked.hives, text.New("command.boxes", asked.boxes), a.Hives[0].Name, a.Hives[len(a.Hives)-1].Name)
		said.Text = p.say.Tell(added)
		said.Lines = []string{p.say.Say("page.hives.said-names")}
		if len(made.Plan.Visits) > 0 {
			said.Lines = append(said.Lines, p.say.Say("page.hives.said-next", text.Full(made.Plan.Visits[0].On)))
		}
		tx.Knows(who.MemberID, scheduler.Visit{}, made, p.today)
		return who.note(r, tx, "add hives", text.New("form.named", a.Name, added))
	})
	if err != nil {
		return err
	}
	return s.done(w, r, fmt.Sprintf("/apiary/%d", p.apiary.ID), said)
}
