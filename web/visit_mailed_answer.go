package web

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// errAddress is what a mailed address that does not work any more says.
var errAddress = newProblem(http.StatusGone, "problem.dead-address")

// acting is one mailed address being answered.
type acting struct {
	action notify.Action
	who    *visitor // without a person and a role
	p      *apiaryRecords
	v      *scheduler.Visit
}

// acting reads what a token stands for; the records are read only for deeds
// about a visit.
func (s *Server) acting(ctx context.Context, token string) (*acting, error) {
	action, err := s.cfg.Notify.Signer().Verify(token, s.cfg.Clock.Now())
	if err != nil || action.Do == notify.UnsubscribeDeed {
		return nil, errAddress
	}
	if err := s.linkHolds(ctx, &action); err != nil {
		return nil, err
	}
	a := &acting{action: action, who: &visitor{Membership: store.Membership{ClubID: action.Club, MemberID: action.Member}}}
	if a.p, a.v, err = s.visitRecords(ctx, a.who, action.VisitUID); err != nil {
		if errors.Is(err, store.ErrNotFound) {
			err = errAddress
		}
		return nil, err
	}
	if m := a.p.club.Member(action.Member); m == nil || m.ButtonsEnded != action.Ended {
		return nil, errAddress
	}
	return a, nil
}

// actView asks whether to do what an address stands for.
type actView struct {
	visitLine
	Do       notify.Deed
	Token    string
	Changed  bool           // since the mail was written
	Was      scheduler.Date // and the day that the mail named, if that was another
	Now      scheduler.Date // the visit's day
	Answers  bool           // the visit still waits for answers
	Question string
	Sure     bool // ask once more, with the day that was chosen
	To       string
	Days     []dayChoice
	DaysLate string
	Today    string
	Stacks   []stackView
	Scraped  []degree
	Also     *unwrittenView
	Other    string // the address of the opposite answer about those
	Record   string // and of the form
}

// askAct shows a question and changes nothing: mail scanners follow addresses.
func (s *Server) askAct(w http.ResponseWriter, r *http.Request) error {
	a, err := s.acting(r.Context(), r.PathValue("token"))
	if err != nil {
		return err
	}
	switch a.action.Do {
	case notify.LookDeed:
		return s.showLook(w, r, a)
	case notify.RecordDeed:
		return s.showRecord(w, r, a.recorder(r.PathValue("token")))
	}
	if said := s.already(a); said != nil {
		return s.showTruth(w, r, a, *said)
	}
	return s.showAct(w, r, a, http.StatusOK, !a.isAsSeen(nil), nil)
}

func (s *Server) showAct(w http.ResponseWriter, r *http.Request, a *acting, status int, changed bool, q *question) error {
	page := actView{
		visitLine: a.p.visitLine(a.v, a.who.MemberID), Do: a.action.Do, Token: r.PathValue("token"),
		Changed: changed || !answerable(a.v), Now: a.v.On, Answers: answerable(a.v), Days: a.p.otherDays(a.v), Today: a.p.today.String(),
		Scraped: scrapes(a.p.say, scheduler.ScrapedNone),
	}
	page.DaysLate = a.p.daysLate(a.v, page.Days)
	if a.action.Do == notify.GoDeed {
		page.Work = a.p.work(a.v, a.v.Expected(), a.who)
	}
	if a.asksAlso() {
		page.Also, page.Changed = a.p.unwritten(a.v, a.p.stillUnwritten(a.v, nil)), false
		page.Record, page.Other = s.answerAddress(a, notify.RecordDeed), s.answerAddress(a, notify.NotOpenedDeed)
		if a.action.Do == notify.NotOpenedDeed {
			page.Other = s.answerAddress(a, notify.AlsoOpenedDeed)
		}
	}
	if changed && a.action.On != a.v.On {
		page.Was = a.action.On
	}
	if q != nil {
		page.Question, page.Sure, page.To = a.p.say.Tell(q.text), true, r.PostFormValue("other")
		if page.To == "" {
			page.To = r.PostFormValue("to")
		}
	}
	for i := range a.p.apiary.Hives {
		if st := a.p.stack(&a.p.apiary.Hives[i], a.v, a.v.On); st.Opens > 0 {
			page.Stacks = append(page.Stacks, st)
		}
	}
	return s.showTo(w, r, a.who, a.p.club, status, "act", a.p.apiary.Name, page)
}

// act does what the address stands for.
func (s *Server) act(w http.ResponseWriter, r *http.Request) error {
	a, err := s.acting(r.Context(), r.PathValue("token")) // first: photos are large, and strangers have none
	if err != nil {
		return err
	}
	f, err := readRecordForm(w, r)
	if err != nil {
		return err
	}
	var do func(*visitChange) error
	switch a.action.Do {
	case notify.RecordDeed:
		return s.saveRecord(w, r, f, s.actRecorder(r, a))
	case notify.OpenedDeed:
		return s.alreadyOpened(w, r, a, f)
	case notify.RainedOffDeed:
		do = (*visitChange).putOff
	case notify.CantGoDeed:
		do = (*visitChange).leave
	case notify.GoDeed:
		do = (*visitChange).take
	case notify.AlsoOpenedDeed:
		do = (*visitChange).alsoOpened
	case notify.NotOpenedDeed:
		do = (*visitChange).notOpened
	default:
		return errAddress
	}
	return s.changeByMail(w, r, a, f, do)
}

// changeByMail changes a visit for the reader of a mail, unless it is so by
// now. What planning or others altered about it meanwhile does not matter to an
// answer about the same day.
func (s *Server) changeByMail(w http.ResponseWriter, r *http.Request, a *acting, f *form, do func(*visitChange) error) error {
	for range 3 {
		if said := s.answered(a, f); said != nil {
			return s.showTruth(w, r, a, *said)
		}
		if !a.isAsSeen(f) {
			break
		}
		if a.action.Do != notify.RainedOffDeed || !f.has("sequence") {
			f.values.Set("sequence", fmt.Sprint(a.v.Sequence))
		}
		said, err := s.makeChange(r.Context(), a.p, a.v, a.who, f, do)
		var q *question
		switch {
		case errors.As(err, &q):
			return s.showAct(w, r, a, http.StatusUnprocessableEntity, false, q)
		case err == nil:
			return s.showActed(w, r, a, said)
		case !errors.Is(err, store.ErrVisitChanged):
			return err
		}
		if a, err = s.acting(r.Context(), r.PathValue("token")); err != nil {
			return err
		}
	}
	return s.showAct(w, r, a, http.StatusConflict, true, nil)
}

// answered is already, for a form: a visit that its reader moves may be there.
func (s *Server) answered(a *acting, f *form) *actedView {
	if a.action.Do == notify.RainedOffDeed && a.v.Pinned && answerable(a.v) {
		if to, err := scheduler.ParseDate(cmp.Or(f.values.Get("other"), f.values.Get("to"))); err == nil && to == a.v.On {
			return s.found(a, a.truth("page.act.moved-already"), notify.RainedOffDeed)
		}
	}
	return s.already(a)
}

// actRecorder gives the form behind a mailed address, and after the first time
// as it is by then.
func (s *Server) actRecorder(r *http.Request, first *acting) func() (*recorder, error) {
	token := r.PathValue("token")
	return func() (*recorder, error) {
		a, err := first, error(nil)
		if first = nil; a == nil {
			if a, err = s.acting(r.Context(), token); err != nil {
				return nil, err
			}
		}
		return a.recorder(token), nil
	}
}

// actedView says what was done.
type actedView struct {
	notice
	visitLine
	Buttons []actButton
}

func (s *Server) showActed(w http.ResponseWriter, r *http.Request, a *acting, said notice) error {
	said.Undo = nil // it would ask to sign in
	return s.showTruth(w, r, a, actedView{notice: said})
}

func (s *Server) showTruth(w http.ResponseWriter, r *http.Request, a *acting, page actedView) error {
	page.visitLine = a.p.visitLine(a.v, a.who.MemberID)
	return s.showTo(w, r, a.who, a.p.club, http.StatusOK, "acted", a.p.apiary.Name, page)
}

// alreadyOpened records that every box of the visit came open without
// trouble, on the day that the form says.
func (s *Server) alreadyOpened(w http.ResponseWriter, r *http.Request, a *acting, f *form) error {
	on := f.date("other")
	if on == 0 {
		on = f.date("on")
	}
	if !f.ok() || !on.Recordable(a.p.today) {
		return newProblem(http.StatusUnprocessableEntity, "problem.which-day-opened", a.p.today)
	}
	rec := a.recorder(r.PathValue("token"))
	rec.on = on
	if f.has("details") {
		// Whoever may record that all was well may record what was not.
		rec.base = s.answerAddress(a, notify.RecordDeed)
		http.Redirect(w, r, rec.address(0), http.StatusSeeOther)
		return nil
	}
	if said := s.already(a); said != nil {
		return s.showTruth(w, r, a, *said)
	}
	if len(a.v.Boxes) == 0 && a.v.May(scheduler.VisitFinished) { // an outside look
		return s.changeByMail(w, r, a, f, func(c *visitChange) error { return c.finishOn(on) })
	}
	var openings []store.BoxOpening
	for _, b := range a.v.Boxes {
		if _, box := a.p.apiary.Box(b.BoxID); box != nil && box.OpeningOn(on) == nil {
			openings = append(openings, store.BoxOpening{BoxID: b.BoxID, Opening: rec.noTroubleOf(b.BoxID, f), Yields: true})
		}
	}
	out, err := s.record(r.Context(), rec, openings)
	if err != nil {
		return err
	}
	if len(out.New) == 0 {
		return s.showActed(w, r, a, notice{Text: a.p.say.Say("page.act.recorded-before")})
	}
	said := notice{Text: a.p.say.Say("page.act.recorded", len(out.New), text.Full(on))}
	said.Lines = a.p.newDates(out, 6)
	return s.showActed(w, r, a, said)
}
