package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// messageLines is how many messages stand on a page.
const messageLines = 50

// messagesView is what mail was owed and what became of it.
type messagesView struct {
	Messages []messageLine
	Refused  []refusedLine
	Inbound  []inboundLine // what came back, the newest first
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
	Back    string // how it came back, and what was said; empty unless it did
	Why, Do string // what its server's answer means, and what to do; empty where that is not known
}

type refusedLine struct {
	MemberID int64
	Name     string
	Address  string
	Reply    string
	Why, Do  string // what that means
}

// messageStates are the states in the order of a message's life.
var messageStates = []store.MessageState{store.Owed, store.Sent, store.PassedOver, store.Refused, store.GivenUp}

// messageKinds are the kinds in the order of the form.
var messageKinds = []scheduler.MessageKind{
	scheduler.DigestMessage, scheduler.DayMessage, scheduler.AskMessage, scheduler.MovedMessage, scheduler.OverdueMessage,
	scheduler.EscalateMessage, scheduler.InviteMessage, scheduler.SignInMessage, scheduler.NewAddressMessage, scheduler.OldAddressMessage,
	scheduler.ReplyMessage, scheduler.AnswerMessage,
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
	filter.Viewer = who.MemberID
	var club *scheduler.Club
	var all []store.Message
	var refused map[int64]string
	var p apiaryRecords
	var inbound []inboundLine
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err != nil {
			return err
		}
		if refused, err = tx.RefusedMembers(r.Context()); err != nil {
			return err
		}
		if all, err = tx.Messages(r.Context(), filter); err != nil {
			return err
		}
		p = apiaryRecords{club: club, say: speaker(club, who.MemberID), names: scheduler.NewNames(club)}
		if filter.Before == 0 {
			inbound, err = p.inbound(r.Context(), tx, whose(who))
		}
		return err
	})
	if err != nil {
		return err
	}
	v := messagesView{KeptDays: store.MessagesKept, Inbound: inbound, Filtered: filter.State != "" || filter.Kind != "" || lead && filter.MemberID != 0 || filter.Before != 0}
	for i := range all {
		if i == messageLines {
			q.Set("before", fmt.Sprint(all[i-1].ID))
			v.Older = (&url.URL{Path: "/messages", RawQuery: q.Encode()}).String()
			break
		}
		v.Messages = append(v.Messages, p.messageLine(&all[i]))
	}
	for _, m := range club.Members {
		if reply := refused[m.ID]; reply != "" && (lead || m.ID == who.MemberID) {
			line := refusedLine{MemberID: m.ID, Name: m.Name, Address: m.Email, Reply: reply, Do: p.say.Say("page.messages.refused-ask")}
			if means, ok := meaningOf(reply); ok {
				line.Why, line.Do = p.say.Say("page.messages.not-taken", text.New(means.why)), p.say.Say(means.do)
			}
			v.Refused = append(v.Refused, line)
		}
		if lead {
			v.Members = append(v.Members, choice{m.ID, m.Name, m.ID == filter.MemberID})
		}
	}
	for _, st := range messageStates {
		v.States = append(v.States, option{string(st), p.say.Word(st), st == filter.State})
	}
	for _, k := range messageKinds {
		v.Kinds = append(v.Kinds, option{string(k), p.say.Word(k), k == filter.Kind})
	}
	return s.showTo(w, r, who, club, http.StatusOK, "messages", p.say.Say("page.menu.messages"), v)
}

func (p *apiaryRecords) messageLine(m *store.Message) messageLine {
	l := messageLine{
		Kind: p.say.Word(m.Kind), To: cmp.Or(p.names.Member(m.MemberID), p.say.Say("page.members.former")), Address: m.Address,
		State: m.State, Word: p.say.Word(m.State), Reason: p.say.Tell(m.ReasonText()), Reply: p.say.Tell(m.ReplyText()),
		When: p.say.Say("page.messages.since", stamp(p.say, m.OwedAt)),
	}
	if m.Returned != "" {
		l.Back = p.say.Say("page.messages.returned", p.say.Word(m.Returned), stamp(p.say, m.ReturnedAt), m.ReturnedReply)
	}
	if m.Returned == store.ReturnedFailed {
		l.Word = p.say.Word(m.Returned)
	}
	why, do := inWords(m)
	l.Why, l.Do = p.say.Tell(why), p.say.Tell(do)
	if m.On != 0 {
		l.About = p.say.PlainDay(m.On)
	}
	switch {
	case !m.SentAt.IsZero():
		l.When = stamp(p.say, m.SentAt)
	case !m.ClosedAt.IsZero():
		l.When = stamp(p.say, m.ClosedAt)
	}
	if m.Attempts > 1 || m.Attempts == 1 && m.State != store.Sent {
		l.Tries = p.say.Say("page.messages.tries", m.Attempts)
	}
	return l
}

// stamp writes an instant for people who may be in several zones.
func stamp(say *text.Speaker, t time.Time) string {
	return say.Say("page.stamp.utc", stampDay(say, t), t.UTC().Format("15:04"))
}

// stampDay writes the day of an instant.
func stampDay(say *text.Speaker, t time.Time) string {
	return say.Terse(0).PlainDay(scheduler.DateOf(t.UTC()))
}

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
	var say *text.Speaker
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if m, err = tx.Member(r.Context(), id); err != nil {
			return err
		}
		by, err := tx.Member(r.Context(), who.MemberID)
		if err != nil {
			return err
		}
		say = text.In(by.Language, by.Units)
		return who.noteOn(r, tx, "clear refused address", m.Name)
	})
	if err != nil {
		return err
	}
	if err := s.cfg.Store.ClearRefused(r.Context(), m.PersonID); err != nil {
		return err
	}
	return s.done(w, r, "/messages", notice{Text: say.Say("page.messages.cleared", m.Name)})
}
