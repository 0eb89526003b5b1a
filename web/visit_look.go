package web

import (
	"context"
	"errors"
	"net/http"

	"pryday/notify"
	"pryday/store"
)

// lookView is a visit as a mail or an entry of its reader's own calendar opens
// it, with the same answers as a mail has. Access notes stay on pages for the
// signed in.
type lookView struct {
	visitView
	Go, CantGo, Record, Opened, RainedOff string // addresses; empty where there is nothing to answer
	Sheet                                 string // the address of the visit on paper
}

// showLook shows a visit and changes nothing.
func (s *Server) showLook(w http.ResponseWriter, r *http.Request, a *acting) error {
	page := lookView{visitView: a.p.visitView(a.v, a.who)}
	page.Access = ""
	page.Sheet = notify.ActionPath + r.PathValue("token") + "/sheet"
	act := func(do notify.Deed) string { return s.answerAddress(a, do) }
	open := a.v.Status.Open()
	if open && !page.Said {
		page.Go = act(notify.GoDeed)
	}
	if open && page.Mine {
		page.CantGo = act(notify.CantGoDeed)
	}
	if answerable(a.v) {
		page.Opened = act(notify.OpenedDeed)
		if a.recorder("").pick(0) != nil { // some hive can be opened
			page.Record = act(notify.RecordDeed)
		}
		if len(page.Days) > 0 {
			page.RainedOff = act(notify.RainedOffDeed)
		}
	}
	return s.showTo(w, r, a.who, a.p.club, http.StatusOK, "look", a.p.apiary.Name+", "+a.p.say.ShortDay(a.v.On), page)
}

// printLook is the visit on paper for who may look at it.
func (s *Server) printLook(w http.ResponseWriter, r *http.Request) error {
	a, err := s.acting(r.Context(), r.PathValue("token"))
	if err != nil {
		return err
	}
	if a.action.Do != notify.LookDeed {
		return errAddress
	}
	page := a.p.printSheet(a.v, a.who)
	page.Path = notify.ActionPath + r.PathValue("token") // the way back
	return s.showSheet(w, r, a.p, a.v, page)
}

// linkHolds refuses what an entry of a calendar lets its reader do once the
// calendar's address has ended.
func (s *Server) linkHolds(ctx context.Context, action *notify.Action) error {
	if action.Link == 0 {
		return nil
	}
	return s.cfg.Store.InSnapshot(ctx, action.Club, func(tx *store.Tx) error {
		link, err := tx.Link(ctx, action.Link)
		switch {
		case errors.Is(err, store.ErrNotFound):
			return errAddress
		case err != nil:
			return err
		case !link.EndedAt().IsZero() || link.Kind != store.MemberLink || link.MemberID != action.Member:
			return errAddress
		}
		return nil
	})
}
