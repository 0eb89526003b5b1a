package web

import (
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// betterDay is a day that planning proposes for a visit that only a person
// moves.
type betterDay struct {
	Says string
	ISO  string
	Day  string
}

// better proposes another day for a visit, or nil.
func (p *apiaryRecords) better(v *scheduler.Visit) *betterDay {
	to, ok := scheduler.BetterDay(p.club, v, p.today)
	if !ok {
		return nil
	}
	says := p.say.Say("page.visit.better.day", to.To)
	if hive, box := p.names.Box(to.BoxID); to.To < v.On && box != "" {
		says = p.say.Say("page.visit.better.odds", to.To, v.On, hive, box, text.Chance(to.Odds))
	}
	return &betterDay{Says: says, ISO: to.To.String(), Day: p.say.ShortDay(to.To)}
}

// apartFrom says why a visit stands close to another one of its apiary, and
// where that other is.
type apartFrom struct{ Says, Path string }

func (p *apiaryRecords) apart(v *scheduler.Visit) *apartFrom {
	other, why := scheduler.WhyApart(p.club, v, p.today)
	if other == nil {
		return nil
	}
	return &apartFrom{Says: p.say.Say(string(why), other.On), Path: visitPath(other.UID)}
}

// cancelDays are days until which the boxes of a cancelled visit may be left
// alone: a week and four from its day, and the next stage of the year.
func (p *apiaryRecords) cancelDays(v *scheduler.Visit) []dayChoice {
	from := max(v.On, p.today)
	_, last := p.season.StageSpan(from)
	stage := last + 1
	return []dayChoice{
		{(from + 7).String(), p.say.Say("page.visit.cancel-week", from+7)},
		{(from + cancelledRest).String(), p.say.Say("page.visit.cancel-month", from+cancelledRest)},
		{stage.String(), p.say.Say("page.visit.cancel-stage", p.season.Stage(stage), stage)},
	}
}

// cancelledRest is how many days the boxes of a cancelled visit are left alone
// when nobody says how long.
const cancelledRest = 28

// askLife is how long the answers on the page of an unanswered visit work.
const askLife = 24 * time.Hour

// allOpened is the address that answers for a member that a visit was made and
// everything came open; it asks on which day before it records.
func (s *Server) allOpened(club *scheduler.Club, who *visitor, v *scheduler.Visit) string {
	m := club.Member(who.MemberID)
	if v.Status != scheduler.Unanswered || m == nil {
		return ""
	}
	return notify.ActionPath + s.cfg.Notify.Signer().Sign(notify.Action{
		Do: notify.OpenedDeed, Club: who.ClubID, Member: m.ID, VisitUID: v.UID, Sequence: v.Sequence, On: v.On,
		Expires: s.cfg.Clock.Now().Add(askLife), Ended: m.ButtonsEnded,
	})
}
