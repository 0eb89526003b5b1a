package web

import (
	"errors"
	"maps"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// guessesShown is how many hives home asks about at once.
const guessesShown = 3

// guessesView asks when the boxes of hives were last opened, where that was guessed.
type guessesView struct {
	Hives []guessedHive
	More  int
}

type guessedHive struct {
	Path     string
	Question text.Text
	Answers  []guessAnswer
}

// guessAnswer is one button; Label says it apart from those of other hives.
type guessAnswer struct {
	Ago         scheduler.Ago
	Text, Label text.Text
}

// guesses asks whoever tends hives about them.
func (rec *homeRecords) guesses(who *visitor) (v guessesView) {
	for _, h := range rec.guessed {
		a := rec.club.Apiary(h.ApiaryID)
		if a == nil || !who.mayTend(a) {
			continue
		}
		if len(v.Hives) == guessesShown {
			v.More++
			continue
		}
		hive := guessedHive{"/hive/" + itoa(h.HiveID) + "/roughly", text.New("page.home.guess-ask", text.Hive(h.Name), a.Name), nil}
		for _, ago := range scheduler.Agos {
			answer := text.New("ago." + string(ago))
			hive.Answers = append(hive.Answers, guessAnswer{ago, answer, text.New("page.home.guess-label", text.Hive(h.Name), a.Name, answer)})
		}
		v.Hives = append(v.Hives, hive)
	}
	return v
}

// roughly takes the answer for all boxes of a hive that nobody knows more of.
func (c *hiveChange) roughly() error {
	ago := scheduler.Ago(c.form.values.Get("ago"))
	if !slices.Contains(scheduler.Agos, ago) {
		var words []text.Text
		for _, a := range scheduler.Agos {
			words = append(words, text.New("ago."+string(a)))
		}
		return newProblem(http.StatusUnprocessableEntity, "problem.no-such-answer", cut(string(ago)), words)
	}
	was, made, err := c.tx.AnswerGuess(c.ctx, c.h.ID, c.p.season.Roughly(ago, c.p.today), c.p.today)
	if errors.Is(err, store.ErrNotFound) {
		return newProblem(http.StatusConflict, "problem.guess-gone", text.Hive(c.h.Name))
	}
	if err != nil {
		return err
	}
	c.made, c.to, c.audit = made, "/", "say roughly when last opened"
	c.said.Text = c.p.say.Say("page.home.guess-said", text.Hive(c.h.Name), c.p.apiary.Name, text.New("ago."+string(ago)))
	c.said.Undo = &undo{Label: c.p.say.Say("page.visit.said.take-back"), Action: hivePath(c.h.ID) + "/roughly-not"}
	for _, b := range was {
		c.said.Undo.Fields = append(c.said.Undo.Fields, [2]string{"was-" + itoa(b.BoxID), b.SetUpOn.String()})
	}
	return nil
}

// notRoughly takes the answer back, so that it is asked again.
func (c *hiveChange) notRoughly() error {
	var was []store.GuessedBox
	before := c.form.part("was-")
	for _, box := range slices.Sorted(maps.Keys(before.values)) {
		was = append(was, store.GuessedBox{BoxID: parseID(box), SetUpOn: before.date(box)})
		if before.date(box) < scheduler.MinDate {
			before.bad(box, "form.give-day")
		}
	}
	if !before.ok() {
		return before.refuse()
	}
	made, err := c.tx.AskGuessAgain(c.ctx, c.h.ID, was, c.p.today)
	if errors.Is(err, store.ErrNotFound) {
		return newProblem(http.StatusConflict, "problem.guess-not-answered", text.Hive(c.h.Name))
	}
	if err != nil {
		return err
	}
	c.made, c.to, c.audit = made, "/", "ask again when last opened"
	c.said.Text = c.p.say.Say("page.home.guess-again", text.Hive(c.h.Name), c.p.apiary.Name)
	return nil
}
