// Package owed decides who must be told what today, and why. It is pure: a
// club's records and its plan, an instant, and what was decided before go in;
// messages with a permanent key each come out. The same thing is never owed
// under two keys, so whoever records the keys may ask as often as they like.
//
//	owed := owed.Decide(club, plan, now, before)
//
// Record what comes out together with what it Tells, and give that and now (as
// Since) to the next call.
package owed

import (
	"cmp"
	"fmt"
	"slices"
	"sync"
	"time"

	"pryday/scheduler"
)

// urgency orders the kinds that can meet in one mail; the first gives the
// mail its kind and its subject.
var urgency = []scheduler.MessageKind{
	scheduler.DayMessage, scheduler.MovedMessage, scheduler.DigestMessage, scheduler.AskMessage, scheduler.OverdueMessage, scheduler.EscalateMessage,
}

// OwedMessage is one mail that is owed to one member, or one that would have
// been and is passed over. Everything for one member on one local day is one
// message.
type Message struct {
	Key        string                // unique and permanent: the same thing never gets another key
	Kind       scheduler.MessageKind // of its most urgent item
	MemberID   int64
	On         scheduler.Date // the member's local day that the mail belongs to
	Reason     string         // the Because of its most urgent item
	Items      []Item         // by kind, most urgent first, then by the visit's day
	Address    string         // where it goes, if not to the member's own address
	PassedOver string         // why it is recorded but never sent, one of the Passed constants; empty for a mail to send
	Free       bool           // outside of what a person gets in a week: see mailOf
}

// OwedItem is one thing that a mail tells.
type Item struct {
	Kind     scheduler.MessageKind
	Because  string // a named reason, one of the Because constants
	VisitID  int64  // 0 for overdue boxes, silent apiaries and those for which nobody has time
	VisitUID string // empty for them
	ApiaryID int64
	VisitOn  scheduler.Date // the visit's day; zero when it was cancelled or is done already
	WasOn    scheduler.Date // the day last told, when that was another
	BoxIDs   []int64        // the visit's boxes in its order, or the overdue ones in record order
	Rounds   int            // of a silent apiary: visits in a row about which nobody said a word
	MailID   int64          `json:",omitempty"` // of what came in, for replies and answers
}

// The named reasons for which something is owed.
const (
	BecauseDaysBefore = "days-before" // the visit is as near as the member asked to hear of it
	BecauseCaughtUp   = "caught-up"   // the same, some days late
	BecauseToday      = "visit-today"
	BecauseMoved      = "visit-moved"
	BecauseCancelled  = "visit-cancelled"
	BecauseDoneBefore = "visit-done-before" // others did it before the day told
	BecauseOverdue    = "boxes-overdue"
	BecauseEscalated  = "boxes-long-overdue"
	BecauseUnanswered = "visit-unanswered" // its day passed and nobody said what became of it
	BecauseUnwritten  = "boxes-unwritten"  // on a done visit: were they opened too?
	BecauseSilent     = "nobody-answers"   // of an apiary, round after round
	BecauseNoTime     = "nobody-has-time"  // for visits to an apiary
)

// The named reasons for which something is passed over, which are keys of texts.
const (
	PassedDayOver = "passed.day-over" // of the visit that it was about
	PassedNearer  = "passed.nearer"   // reminder of the same visit
	lookBackDays  = 31                // passed over mail older than this is not even recorded
	escalateEvery = 7                 // days between two mails to organisers about what nobody does
)

// Told is what a member was told last about a visit or an apiary.
type Told = scheduler.Told

// Before is what was decided up to now.
type Before struct {
	Seen  func(key string) bool // whether a message with this key is recorded, sent or not; nil: none is
	Told  []Told                // what each recorded, not passed over message told, in the order recorded or the last word only
	Mail  map[int64][]Mailed    // by person: the mails of the last days in all clubs, sign-in and the like apart
	Leads map[int64]int         // by person: how many clubs organisers lead in all, where that is more than one
	Since time.Time             // when the club was last decided on; zero: never, so that nothing was missed
}

// Owed decides what messages the club owes at an instant, each with its
// reason and its key, and is owed to nobody twice: record the messages
// together with their Tells, and pass those and now (as Since) to the next
// call. A call every five minutes is enough; a missed one is caught up.
//
// Visits are those of p, and the ones of c that p has not: history, and what
// was cancelled. A visit without UID was never saved and nobody hears of it.
// A member's mail of a day is decided at the first call after SendAt of that
// local day. What comes up later in the day waits for the next morning, so
// that nobody is mailed every step of a plan being moved about, unless the
// next morning is too late. What fell into a time in which nobody decided
// comes out once, late, while it is still of use; else it is returned as
// passed over.
func Decide(c *scheduler.Club, p *scheduler.Plan, now time.Time, before Before) []Message {
	index := sync.OnceValue(func() *decision { return newDecision(c, p, before) }) // most ticks fall before anybody's hour
	var out []Message
	for i := range c.Members {
		m := &c.Members[i]
		h := hourOf(c, m, now, before.Since)
		if h.missed {
			out = append(out, index().passedOver(m, &h)...)
		}
		if !h.come {
			continue
		}
		d := index()
		if msg, ok := d.mailOf(m, h.today, h.inTime); ok {
			out = append(out, msg)
		}
	}
	return out
}

// cannotWait reports whether an item must reach people before the next
// morning's mail: a visit of today, a change to one of the next three days.
func (it *Item) cannotWait(today scheduler.Date) bool {
	near := func(d scheduler.Date) bool { return d >= today && d <= today+changeDays }
	return it.Kind == scheduler.DayMessage || it.Kind == scheduler.MovedMessage && (near(it.VisitOn) || near(it.WasOn))
}

// changeDays is how near a visit is, in days, whose change goes out at once.
const changeDays = 3

func message(key string, member int64, on scheduler.Date, items []Item) Message {
	slices.SortStableFunc(items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(slices.Index(urgency, a.Kind), slices.Index(urgency, b.Kind)),
			cmp.Compare(cmp.Or(a.VisitOn, a.WasOn), cmp.Or(b.VisitOn, b.WasOn)))
	})
	return Message{
		Key: key, Kind: items[0].Kind, MemberID: member, On: on, Reason: items[0].Because, Items: items,
	}
}

// Tells returns what a member knows once the message is recorded: nothing
// when it is passed over.
func (m *Message) Tells() []Told {
	if m.PassedOver != "" {
		return nil
	}
	var out []Told
	for _, it := range m.Items {
		// What somebody else wrote of a visit says nothing of its day.
		if it.Kind == scheduler.ReplyMessage || it.VisitUID == "" && it.ApiaryID == 0 {
			continue
		}
		out = append(out, Told{MemberID: m.MemberID, Kind: it.Kind, VisitUID: it.VisitUID, ApiaryID: it.ApiaryID, On: it.VisitOn, ToldOn: m.On})
	}
	return out
}

// DailyKey is the key of the one mail of a member on a local day.
func DailyKey(clubID, memberID int64, on scheduler.Date) string {
	return fmt.Sprintf("daily/%d/%d/%s", clubID, memberID, on)
}

// weeklyKey is the key of an organiser's mail about what nobody does.
func weeklyKey(clubID, memberID int64, on scheduler.Date) string {
	return fmt.Sprintf("weekly/%d/%d/%s", clubID, memberID, on)
}

// changeKey is the key of a mail about a change that cannot wait.
func changeKey(clubID, memberID int64, on scheduler.Date, it Item) string {
	to := it.Because
	if it.VisitOn != 0 {
		to = it.VisitOn.String()
	}
	return fmt.Sprintf("change/%d/%d/%s/%s/%s", clubID, memberID, on, it.VisitUID, to)
}

// SignInKey is the key of a sign-in mail; token is the public identifier of
// the one-time token in it, never the token itself. One that was asked for by a
// browser known to be the person's ends with KnownBrowser.
func SignInKey(personID int64, token string, known bool) string {
	if known {
		token += KnownBrowser
	}
	return fmt.Sprintf("sign-in/%d/%s", personID, token)
}

// KnownBrowser ends the keys of sign-in mails that no stranger can ask for.
const KnownBrowser = "/known"

// ReplyKey is the key of the mail that passes on what came in to a member.
func ReplyKey(mailID, memberID int64) string { return fmt.Sprintf("reply/%d/%d", mailID, memberID) }

// AnswerKey is the key of the answer to a mail that came in.
func AnswerKey(mailID int64) string { return fmt.Sprintf("answer/%d", mailID) }

// InviteKey is the key of an invitation of a person into a club; asked is the
// day on which an organiser asked for it, so that one may be repeated.
func InviteKey(clubID, personID int64, asked scheduler.Date) string {
	return fmt.Sprintf("invitation/%d/%d/%s", clubID, personID, asked)
}
