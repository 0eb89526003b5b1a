package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// messageLines is how many messages stand on a page.
const messageLines = 50

// messagesView is what mail was owed and what became of it.
type messagesView struct {
	Messages []messageLine
	Refused  []refusedLine
	States   []option
	Kinds    []option
	Members  []choice // organisers choose whose
	Filtered bool
	Older    string // address of the page after, or empty
	KeptDays int
}

type option struct {
	Value, Word string
	Chosen      bool
}

type messageLine struct {
	Kind    string
	To      string
	Address string
	About   string // the day that it is about
	State   store.MessageState
	Word    string // of the state
	When    string
	Reason  string
	Reply   string
	Tries   string
}

type refusedLine struct {
	MemberID int64
	Name     string
	Address  string
	Reply    string
}

// messageStates are the states with their words, in the order of a message's
// life.
var messageStates = []struct {
	state store.MessageState
	word  string
}{
	{store.Owed, "waiting to go out"},
	{store.Sent, "sent"},
	{store.PassedOver, "passed over"},
	{store.Refused, "refused"},
	{store.GivenUp, "given up"},
}

// messageKinds are the kinds with their words.
var messageKinds = []struct {
	kind scheduler.MessageKind
	word string
}{
	{scheduler.DigestMessage, "visits to come"},
	{scheduler.DayMessage, "visit today"},
	{scheduler.MovedMessage, "visit moved or cancelled"},
	{scheduler.OverdueMessage, "overdue boxes"},
	{scheduler.EscalateMessage, "long overdue, to organisers"},
	{scheduler.InviteMessage, "invitation"},
	{scheduler.SignInMessage, "sign-in address"},
}

// messageReasons say why a message was owed.
var messageReasons = map[string]string{
	owed.BecauseDaysBefore: "a visit was as near as the member asked to hear of it",
	owed.BecauseCaughtUp:   "a visit had come nearer than that already",
	owed.BecauseToday:      "the visit was on this day",
	owed.BecauseMoved:      "a visit moved to another day",
	owed.BecauseCancelled:  "a visit was cancelled",
	owed.BecauseDoneBefore: "others did the visit before its day",
	owed.BecauseOverdue:    "boxes were past their day and no visit was near",
	owed.BecauseEscalated:  "boxes were long past their day and nobody went",
}

func (s *Server) messages(w http.ResponseWriter, r *http.Request, who *visitor) error {
	lead := who.Role == scheduler.Organiser
	q := r.URL.Query()
	filter := store.MessageFilter{
		State: store.MessageState(q.Get("state")), Kind: scheduler.MessageKind(q.Get("kind")),
		MemberID: parseID(q.Get("member")), Before: parseID(q.Get("before")), Limit: messageLines + 1,
	}
	if !lead {
		filter.MemberID = who.MemberID
	}
	var club *scheduler.Club
	var all []store.Message
	var refused map[int64]string
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err != nil {
			return err
		}
		if refused, err = tx.RefusedMembers(r.Context()); err != nil {
			return err
		}
		all, err = tx.Messages(r.Context(), filter)
		return err
	})
	if err != nil {
		return err
	}
	p := apiaryRecords{say: speaker(club, who.MemberID), names: scheduler.NewNames(club)}
	v := messagesView{KeptDays: store.MessagesKept, Filtered: filter.State != "" || filter.Kind != "" || lead && filter.MemberID != 0 || filter.Before != 0}
	for i := range all {
		if i == messageLines {
			q.Set("before", fmt.Sprint(all[i-1].ID))
			v.Older = (&url.URL{Path: "/messages", RawQuery: q.Encode()}).String()
			break
		}
		v.Messages = append(v.Messages, p.messageLine(&all[i]))
	}
	for _, m := range club.Members {
		if reply, ok := refused[m.ID]; ok && (lead || m.ID == who.MemberID) {
			v.Refused = append(v.Refused, refusedLine{m.ID, m.Name, m.Email, reply})
		}
		if lead {
			v.Members = append(v.Members, choice{m.ID, m.Name, m.ID == filter.MemberID})
		}
	}
	for _, st := range messageStates {
		v.States = append(v.States, option{string(st.state), st.word, st.state == filter.State})
	}
	for _, k := range messageKinds {
		v.Kinds = append(v.Kinds, option{string(k.kind), k.word, k.kind == filter.Kind})
	}
	return s.showTo(w, r, who, club, http.StatusOK, "messages", "Messages", v)
}

func (p *apiaryRecords) messageLine(m *store.Message) messageLine {
	l := messageLine{
		Kind: string(m.Kind), To: cmp.Or(p.names.Member(m.MemberID), "a former member"), Address: m.Address,
		State: m.State, Word: string(m.State), Reason: m.Reason, Reply: m.Reply, When: "since " + stamp(m.OwedAt),
	}
	for _, k := range messageKinds {
		if k.kind == m.Kind {
			l.Kind = k.word
		}
	}
	for _, st := range messageStates {
		if st.state == m.State {
			l.Word = st.word
		}
	}
	if text, ok := messageReasons[m.Reason]; ok {
		l.Reason = text
	}
	if m.On != 0 {
		l.About = p.say.PlainDay(m.On)
	}
	switch {
	case !m.SentAt.IsZero():
		l.When = stamp(m.SentAt)
	case !m.ClosedAt.IsZero():
		l.When = stamp(m.ClosedAt)
	}
	if m.Attempts > 1 || m.Attempts == 1 && m.State != store.Sent {
		l.Tries = count(m.Attempts, "try", "tries")
	}
	return l
}

// stamp writes an instant for people who may be in several zones.
func stamp(t time.Time) string { return t.UTC().Format("2 Jan 2006, 15:04") + " UTC" }

// clearRefused lets mail go again to an address that a server refused.
func (s *Server) clearRefused(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	id := f.id("member")
	if id != who.MemberID && who.Role != scheduler.Organiser {
		return errNotYours
	}
	var m *scheduler.Member
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if m, err = tx.Member(r.Context(), id); err != nil {
			return err
		}
		return who.note(r, tx, "clear refused address", "%s", m.Name)
	})
	if err != nil {
		return err
	}
	if err := s.cfg.Store.ClearRefused(r.Context(), m.PersonID); err != nil {
		return err
	}
	return s.done(w, r, "/messages", notice{Text: fmt.Sprintf("Mail goes to %s again. What was refused meanwhile is not sent again.", m.Name)})
}
