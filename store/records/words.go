package records

import (
	"net/mail"
	"strconv"
	"strings"

	"golang.org/x/text/language"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// The words that may stand under keys of few choices.
var (
	roles   = []scheduler.Role{scheduler.Organiser, scheduler.Keeper}
	units   = []text.Units{text.Millimetres, text.Inches}
	mutable = []scheduler.MessageKind{
		scheduler.DigestMessage, scheduler.DayMessage, scheduler.OverdueMessage,
		scheduler.EscalateMessage, scheduler.MovedMessage,
	}
	toldKinds = append([]scheduler.MessageKind{scheduler.AskMessage, scheduler.AnswerMessage}, mutable...)
	beeSpaces = []scheduler.BeeSpace{scheduler.TopSpace, scheduler.BottomSpace}
	places    = []scheduler.Where{scheduler.OnHive, scheduler.InStore, scheduler.Lent, scheduler.Retired}
	scrapings = []scheduler.Scraped{scheduler.ScrapedAll, scheduler.ScrapedPart, scheduler.ScrapedNone}
	gapPlaces = []scheduler.GapPlace{
		scheduler.AboveFrames, scheduler.BetweenFrames, scheduler.EndBarToBox, scheduler.FrameToWall,
		scheduler.BetweenBoxes, scheduler.BelowFrames, scheduler.Entrance, scheduler.FrameLug,
	}
	pegs       = []scheduler.Peg{scheduler.ThinWontGo, scheduler.ThinGoes, scheduler.ThickGoes}
	conditions = []scheduler.Condition{
		scheduler.Warped, scheduler.Cracked, scheduler.Rot, scheduler.CornerLoose, scheduler.RestWorn,
		scheduler.LugBroken, scheduler.FrameBroken, scheduler.FrameMissing, scheduler.CombDamaged,
		scheduler.WaxMoth, scheduler.HiveBeetle, scheduler.LidDamaged, scheduler.FloorDamaged,
		scheduler.ExcluderBent, scheduler.MixedMakers, scheduler.BroodSuspect,
	}
	statuses = []scheduler.VisitStatus{
		scheduler.Tentative, scheduler.Confirmed, scheduler.Unanswered, scheduler.Done, scheduler.Missed, scheduler.Cancelled,
	}
	reasons = []scheduler.Reason{
		scheduler.BecauseOdds, scheduler.BecauseLongest, scheduler.BecauseRequired, scheduler.BecauseGuess, scheduler.BecauseAbove,
	}
	queens   = []scheduler.Queen{scheduler.QueenUnknown, scheduler.QueenStays, scheduler.QueenGoes}
	duties   = []scheduler.Required{scheduler.OpeningRequired, scheduler.VisitRequired}
	weekdays = scheduler.WeekdayNames[:]
)

var emailAllowed = text.New("records.allow.email")

// email reads an address as it stands in a mail's To, without a name.
func (r *reader) email(n *node) string {
	if !r.isKind(n, isString, emailAllowed) {
		return ""
	}
	a, err := mail.ParseAddress(n.text)
	if err != nil || a.Name != "" || a.Address != n.text || len(n.text) > 254 || !plainText(n.text, 254) {
		r.bad(n, "records.why.no-email", emailAllowed)
		return ""
	}
	return n.text
}

var zoneAllowed = text.New("records.allow.zone")

// zone reads the name of a time zone that this machine or program knows.
func (r *reader) zone(n *node) string {
	if !r.isKind(n, isString, zoneAllowed) {
		return ""
	}
	if n.text == "" || n.text == "Local" || len(n.text) > 100 {
		r.bad(n, "records.why.no-zone", zoneAllowed)
		return ""
	}
	if !scheduler.IsZone(n.text) {
		r.bad(n, "records.why.unknown-zone", zoneAllowed)
		return ""
	}
	return n.text
}

// language reads a BCP 47 tag.
func (r *reader) language(n *node) string {
	allowed := text.New("records.allow.language")
	if !r.isKind(n, isString, allowed) {
		return ""
	}
	if _, err := language.Parse(n.text); err != nil || len(n.text) > 35 {
		r.bad(n, "records.why.no-language", allowed)
		return ""
	}
	return n.text
}

// weekdaySet reads days of the week; an empty list means any day.
func (r *reader) weekdaySet(n *node) scheduler.WeekdaySet {
	var set scheduler.WeekdaySet
	for _, item := range r.list(n, text.New("records.allow.list-weekdays")) {
		day := choice(r, item, weekdays)
		for i, name := range weekdays {
			if day == name {
				if set&(1<<i) != 0 {
					r.bad(item, "records.why.twice", text.New("records.allow.day-once"))
				}
				set |= 1 << i
			}
		}
	}
	return set
}

// periods reads spans of days, both ends included.
func (r *reader) periods(n *node) []scheduler.Period {
	var out []scheduler.Period
	for _, item := range r.list(n, text.New("records.allow.list-periods")) {
		out = append(out, r.period(item))
	}
	return out
}

func (r *reader) period(n *node) scheduler.Period {
	o := r.object(n)
	var p scheduler.Period
	if f := o.need("from", text.New("records.allow.first-day")); f != nil {
		p.From = r.date(f)
	}
	if u := o.get("until"); u != nil {
		p.Until = r.date(u)
		if p.Until != 0 && p.Until < p.From {
			r.bad(u, "records.why.before-first", text.New("records.allow.last-day"), p.From.String())
		}
	}
	if f := o.get("reason"); f != nil {
		p.Reason = r.words(f)
	}
	if f := o.get("after"); f != nil {
		p.After = choice(r, f, scheduler.Fates)
	}
	o.done()
	return p
}

// kindsAllowed lists the kinds of box that a club has.
func kindsAllowed(c *scheduler.Club) text.Text {
	return text.New("records.allow.these", strings.Join(kindNamesOf(c), ", "))
}

// plainText reports whether a text may stand in one line.
func plainText(s string, most int) bool {
	why, _ := textProblem(s, most, false)
	return why == ""
}

// quoted shows a name.
func quoted(s string) string { return strconv.Quote(clip(s)) }
