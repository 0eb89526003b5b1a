package records

import (
	"net/mail"
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
		scheduler.BecauseOdds, scheduler.BecauseLongest, scheduler.BecauseRequired, scheduler.BecauseAbove,
	}
	duties   = []scheduler.Required{scheduler.OpeningRequired, scheduler.VisitRequired}
	weekdays = []string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}
)

const emailAllowed = "an e-mail address such as name@example.org, of at most 254 characters"

// email reads an address as it stands in a mail's To, without a name.
func (r *reader) email(n *node) string {
	if !r.isKind(n, isString, emailAllowed) {
		return ""
	}
	a, err := mail.ParseAddress(n.text)
	if err != nil || a.Name != "" || a.Address != n.text || len(n.text) > 254 || textProblem(n.text, 254, "") != "" {
		r.bad(n, "is not an e-mail address", emailAllowed)
		return ""
	}
	return n.text
}

const zoneAllowed = "an IANA zone name such as America/Toronto or Europe/Paris"

// zone reads the name of a time zone that this machine or program knows.
func (r *reader) zone(n *node) string {
	if !r.isKind(n, isString, zoneAllowed) {
		return ""
	}
	if n.text == "" || n.text == "Local" || len(n.text) > 100 {
		r.bad(n, "is not a zone's name", zoneAllowed)
		return ""
	}
	if !scheduler.IsZone(n.text) {
		r.bad(n, "is not a known zone", zoneAllowed)
		return ""
	}
	return n.text
}

// language reads a BCP 47 tag.
func (r *reader) language(n *node) string {
	const allowed = "a language tag such as en, en-CA or sl"
	if !r.isKind(n, isString, allowed) {
		return ""
	}
	if _, err := language.Parse(n.text); err != nil || len(n.text) > 35 {
		r.bad(n, "is not a language tag", allowed)
		return ""
	}
	return n.text
}

// weekdaySet reads days of the week; an empty list means any day.
func (r *reader) weekdaySet(n *node) scheduler.WeekdaySet {
	var set scheduler.WeekdaySet
	for _, item := range r.list(n, "days of the week") {
		day := choice(r, item, weekdays)
		for i, name := range weekdays {
			if day == name {
				if set&(1<<i) != 0 {
					r.bad(item, "stands twice", "each day once")
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
	for _, item := range r.list(n, "periods") {
		o := r.object(item)
		var p scheduler.Period
		if f := o.need("from", "the first day"); f != nil {
			p.From = r.date(f)
		}
		if u := o.get("until"); u != nil {
			p.Until = r.date(u)
			if p.Until != 0 && p.Until < p.From {
				r.bad(u, "is before the first day, "+p.From.String(), "the last day, or no key while it is not known")
			}
		}
		if f := o.get("reason"); f != nil {
			p.Reason = r.words(f)
		}
		o.done()
		out = append(out, p)
	}
	return out
}

// knownKinds lists the kinds of box that may stand in the document.
func (p *parser) knownKinds() string {
	return strings.Join(kindNamesOf(p.club), ", ")
}
