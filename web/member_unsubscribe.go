package web

import (
	"context"
	"errors"
	"net/http"
	"slices"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// reminderKinds are the kinds of mail that a member can do without, in the
// order of the preferences. Sign-in mail always goes out.
var reminderKinds = []struct {
	Kind scheduler.MessageKind
	Word text.Text
	Lead bool // organisers alone get it
}{
	{scheduler.DigestMessage, text.New("page.preferences.before"), false},
	{scheduler.DayMessage, text.New("page.preferences.on-day"), false},
	{scheduler.MovedMessage, text.New("page.preferences.moved"), false},
	{scheduler.OverdueMessage, text.New("page.preferences.overdue"), false},
	{scheduler.EscalateMessage, text.New("page.preferences.escalated"), true},
}

// unsubscribeView asks, or says what was done.
type unsubscribeView struct {
	Club    string
	Address string
	Done    string // "stopped", "started", or empty for the question
	Stopped bool   // already
	say     *text.Speaker
}

// unsubscriber reads whose reminders an address stops.
func (s *Server) unsubscriber(ctx context.Context, token string) (notify.Action, *unsubscribeView, error) {
	action, err := s.cfg.Notify.Signer().Verify(token, s.cfg.Clock.Now())
	if err != nil || action.Do != notify.UnsubscribeDeed {
		return action, nil, errAddress
	}
	v := &unsubscribeView{}
	err = s.cfg.Store.InSnapshot(ctx, action.Club, func(tx *store.Tx) error {
		m, err := tx.Member(ctx, action.Member)
		if err != nil {
			return err
		}
		club, err := tx.Outline(ctx)
		if err != nil {
			return err
		}
		v.Club, v.Address, v.Stopped, v.say = club.Name, m.Email, mutedAll(m), text.In(m.Language, m.Units)
		return nil
	})
	if errors.Is(err, store.ErrNotFound) {
		err = errAddress
	}
	return action, v, err
}

func mutedAll(m *scheduler.Member) bool {
	for _, k := range reminderKinds {
		if !slices.Contains(m.Prefs.Mute, k.Kind) {
			return false
		}
	}
	return true
}

func (s *Server) askUnsubscribe(w http.ResponseWriter, r *http.Request) error {
	_, v, err := s.unsubscriber(r.Context(), r.PathValue("token"))
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, "unsubscribe", view{say: v.say, Title: v.say.Say("page.unsubscribe.title"), Page: *v})
}

// unsubscribe stops a member's reminders at once, as RFC 8058 asks, or starts
// them again. It may come from any origin: nothing but the signed token in
// its address says whose they are.
func (s *Server) unsubscribe(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, 16<<10)
	again := r.FormValue("again") != "" // a mail program may send multipart/form-data
	action, v, err := s.unsubscriber(r.Context(), r.PathValue("token"))
	if err != nil {
		return err
	}
	err = s.cfg.Store.InClub(r.Context(), action.Club, func(tx *store.Tx) error {
		m, err := tx.Member(r.Context(), action.Member)
		if err != nil {
			return err
		}
		for _, k := range reminderKinds {
			m.Prefs.Mute = slices.DeleteFunc(m.Prefs.Mute, func(had scheduler.MessageKind) bool { return had == k.Kind })
			if !again {
				m.Prefs.Mute = append(m.Prefs.Mute, k.Kind)
			}
		}
		return tx.UpdateMember(r.Context(), *m)
	})
	if err != nil {
		return err
	}
	v.Done = "stopped"
	if again {
		v.Done = "started"
	}
	return s.show(w, r, http.StatusOK, "unsubscribe", view{say: v.say, Title: v.say.Say("page.unsubscribe.title"), Page: *v})
}
