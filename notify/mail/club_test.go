package mail

import (
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

func day(y int, m time.Month, d int) scheduler.Date { return scheduler.NewDate(y, m, d) }

// today is the local day of every mail in these tests, a Saturday.
var today = day(2027, 5, 1)

// smallClub is an invented club of two apiaries and three members, with its
// plan for today.
func smallClub() (*scheduler.Club, *scheduler.Plan) {
	opened := func(on scheduler.Date, joint, frames scheduler.Difficulty, gaps ...scheduler.Gap) scheduler.Opening {
		return scheduler.Opening{ID: "o-" + on.String(), On: on, Joint: joint, Frames: frames, Scraped: scheduler.ScrapedPart, Gaps: gaps}
	}
	hard := opened(day(2026, 8, 20), scheduler.Hard, scheduler.Firm,
		scheduler.Gap{At: scheduler.AboveFrames, MM: 4.5}, scheduler.Gap{At: scheduler.BetweenBoxes, MM: 12.7})
	hard.Condition = []scheduler.Condition{scheduler.LugBroken, scheduler.LidDamaged}
	c := &scheduler.Club{
		ID: 1, Name: "Tarn Valley Hive Circle", Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{
			{ID: 11, Name: "Maren Okoro", Role: scheduler.Organiser, Timezone: "Europe/Dublin"},
			{ID: 12, Name: "Teodor Quill", Role: scheduler.Keeper, Language: "de-AT", Units: text.Millimetres},
			{ID: 13, Name: "Ines Varga-Lund", Role: scheduler.Keeper, Language: "en-CA", Units: text.Inches},
		},
		Apiaries: []scheduler.Apiary{
			{
				ID: 21, Name: "Orchard", Latitude: 54.2, Longitude: -7.6, ElevationM: 80, Timezone: "Europe/Dublin",
				AccessNotes: "gate code 4711", Keepers: []int64{13, 11},
				Hives: []scheduler.Hive{
					{ID: 31, Name: "Larch", Boxes: []scheduler.Box{
						{ID: 41, Name: "R14", Kind: "deep", SetUpOn: day(2025, 5, 1), Openings: []scheduler.Opening{opened(day(2026, 4, 20), scheduler.Firm, scheduler.Light), hard}},
						{ID: 42, Name: "R15", Kind: "medium", SetUpOn: day(2026, 5, 1), Openings: []scheduler.Opening{opened(day(2026, 8, 20), scheduler.Light, scheduler.Light, scheduler.Gap{At: scheduler.AboveFrames, Peg: scheduler.ThinGoes})}},
					}},
					{
						ID: 32, Name: "Rowan",
						LeaveAlone: []scheduler.Period{{From: day(2027, 4, 28), Until: day(2027, 5, 19), Reason: "queen cells"}},
						Boxes:      []scheduler.Box{{ID: 43, Name: "B2", Kind: "deep", SetUpOn: day(2026, 6, 1)}},
					},
				},
			},
			{
				ID: 22, Name: "Quarry & Lane <East>", Latitude: 54.3, Longitude: -7.7, ElevationM: 210, Timezone: "Europe/Dublin",
				Keepers: []int64{12},
				Hives: []scheduler.Hive{{ID: 33, Name: "Küchengarten", Boxes: []scheduler.Box{
					{ID: 44, Name: "7", Kind: "club-deep", SetUpOn: day(2026, 3, 1)},
				}}},
			},
		},
	}
	p := &scheduler.Plan{
		Today: today,
		Visits: []scheduler.Visit{
			{ID: 51, UID: "v51", ApiaryID: 21, On: day(2027, 5, 8), Status: scheduler.Confirmed, Who: []int64{13, 11}, Taken: []int64{13, 11}, Boxes: []scheduler.VisitBox{
				{BoxID: 42, Due: day(2027, 5, 24), Reason: scheduler.BecauseAbove, Odds: 0.08},
				{BoxID: 41, Due: day(2027, 5, 10), Reason: scheduler.BecauseOdds, Odds: 0.21},
			}},
			{ID: 52, UID: "v52", ApiaryID: 22, On: today, Status: scheduler.Confirmed, Who: []int64{12}},
		},
		Boxes: []scheduler.BoxState{
			{BoxID: 43, ApiaryID: 21, HiveID: 32, Due: day(2027, 3, 30), Odds: 0.46, Overdue: true},
			{BoxID: 44, ApiaryID: 22, HiveID: 33, Due: day(2027, 4, 10), Odds: 0.62, Overdue: true},
		},
	}
	c.Visits = []scheduler.Visit{{
		ID: 54, UID: "v54", ApiaryID: 21, On: today - 1, Status: scheduler.Unanswered, Who: []int64{13},
		Boxes: []scheduler.VisitBox{{BoxID: 42, Due: today + 9, Reason: scheduler.BecauseOdds, Odds: 0.2}, {BoxID: 41, Due: today, Reason: scheduler.BecauseOdds, Odds: 0.2}},
	}, {
		ID: 55, UID: "v55", ApiaryID: 21, On: today - 1, Status: scheduler.Done, Who: []int64{13}, Boxes: []scheduler.VisitBox{{BoxID: 42}, {BoxID: 41}, {BoxID: 43}},
	}, {ID: 53, UID: "v53", ApiaryID: 22, On: day(2027, 5, 4), Status: scheduler.Cancelled}}
	return c, p
}

// items are one thing of each kind that a reminder can tell.
func items() map[string]owed.Item {
	coming := owed.Item{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: 51, VisitUID: "v51", ApiaryID: 21, VisitOn: day(2027, 5, 8), BoxIDs: []int64{42, 41}}
	late := coming
	late.Because = owed.BecauseCaughtUp
	moved := coming
	moved.Kind, moved.Because, moved.WasOn = scheduler.MovedMessage, owed.BecauseMoved, day(2027, 5, 15)
	return map[string]owed.Item{
		"coming":    coming,
		"late":      late,
		"moved":     moved,
		"today":     {Kind: scheduler.DayMessage, Because: owed.BecauseToday, VisitID: 52, VisitUID: "v52", ApiaryID: 22, VisitOn: today},
		"cancelled": {Kind: scheduler.MovedMessage, Because: owed.BecauseCancelled, VisitID: 53, VisitUID: "v53", ApiaryID: 22, WasOn: day(2027, 5, 4)},
		"done":      {Kind: scheduler.MovedMessage, Because: owed.BecauseDoneBefore, VisitID: 53, VisitUID: "v53", ApiaryID: 22, WasOn: day(2027, 5, 4)},
		"overdue":   {Kind: scheduler.OverdueMessage, Because: owed.BecauseOverdue, ApiaryID: 21, BoxIDs: []int64{43}},
		"ask": {
			Kind: scheduler.AskMessage, Because: owed.BecauseUnanswered, VisitID: 54, VisitUID: "v54", ApiaryID: 21,
			VisitOn: today - 1, BoxIDs: []int64{42, 41},
		},
		"also": {
			Kind: scheduler.AskMessage, Because: owed.BecauseUnwritten, VisitID: 55, VisitUID: "v55", ApiaryID: 21,
			VisitOn: today - 1, BoxIDs: []int64{42, 43},
		},
		"silent":    {Kind: scheduler.EscalateMessage, Because: owed.BecauseSilent, ApiaryID: 21, BoxIDs: []int64{43}, Rounds: 3},
		"escalated": {Kind: scheduler.EscalateMessage, Because: owed.BecauseEscalated, ApiaryID: 22, BoxIDs: []int64{44}},
		"no-time":   {Kind: scheduler.EscalateMessage, Because: owed.BecauseNoTime, ApiaryID: 21},
		"no-time-2": {Kind: scheduler.EscalateMessage, Because: owed.BecauseNoTime, ApiaryID: 22},
	}
}

// shortOfTime adds visits for which nobody has time.
func shortOfTime(in Input) Input {
	boxes := []scheduler.VisitBox{{BoxID: 41}, {BoxID: 42}}
	for i, on := range []scheduler.Date{day(2027, 5, 7), day(2027, 5, 10), day(2027, 5, 21), day(2027, 7, 1)} {
		v := scheduler.Visit{ID: int64(61 + i), UID: "lacking", ApiaryID: 21, On: on, Status: scheduler.Tentative, NoTime: true, Boxes: boxes}
		if i == 1 {
			v.ApiaryID, v.Boxes = 22, []scheduler.VisitBox{{BoxID: 44}}
		}
		in.Plan.Visits = append(in.Plan.Visits, v)
	}
	return in
}

// reminderOf is the input of a reminder to one member with some items.
func reminderOf(member int, names ...string) Input {
	c, p := smallClub()
	all := items()
	m := owed.Message{Key: "daily/1/x/2027-05-01", On: today, MemberID: c.Members[member].ID}
	for _, n := range names {
		m.Items = append(m.Items, all[n])
	}
	m.Kind = m.Items[0].Kind
	return Input{Club: c, Plan: p, Member: &c.Members[member], Message: m, Links: Links{
		Visit: func(uid string) VisitLinks {
			at := "https://hives.example/v/" + uid
			return VisitLinks{Page: at + "/look?s=l", SignedInPage: at, Record: at + "/record?s=r", AlreadyOpened: at + "/already?s=a", RainedOff: at + "/rained?s=m", Take: at + "/go?s=g", CantGo: at + "/cant?s=c", AlsoOpened: at + "/also?s=o", NotOpened: at + "/not?s=n"}
		},
		Apiary:      func(int64) string { return "https://hives.example/apiary" },
		Preferences: "https://hives.example/me", Unsubscribe: "https://hives.example/u?s=u&k=1",
	}}
}
