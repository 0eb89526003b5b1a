package records

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// clubs draws clubs with everything that the document can carry, their ids
// numbered as Parse numbers them.
type clubs struct {
	t        *rapid.T
	c        scheduler.Club
	hives    int64
	openings int
}

func drawClub(t *rapid.T) *scheduler.Club {
	g := &clubs{t: t, c: scheduler.Club{ID: 1, Name: drawName(t), Rules: drawRules(t)}}
	for i := range rapid.IntRange(0, 4).Draw(t, "members") {
		g.member(int64(i + 1))
	}
	if rapid.Bool().Draw(t, "own kind") {
		g.c.Kinds = []scheduler.BoxKind{{Name: "ours", DepthMM: 250.5, EmptyKg: 7, FullKg: 31, Frames: 12, FrameMM: 232}}
	}
	var hivesAt []int
	for range rapid.IntRange(0, 3).Draw(t, "apiaries") {
		hivesAt = append(hivesAt, rapid.IntRange(0, 3).Draw(t, "hives"))
		g.hives += int64(hivesAt[len(hivesAt)-1])
	}
	hive := int64(0)
	for i, n := range hivesAt {
		g.apiary(int64(i+1), n, &hive)
	}
	for range rapid.IntRange(0, 3).Draw(t, "spare boxes") {
		g.spare()
	}
	g.number()
	g.events()
	for i := range rapid.IntRange(0, 3).Draw(t, "visits") {
		g.visit(int64(i + 1))
	}
	g.told()
	return &g.c
}

// drawName draws a name in any script.
func drawName(t *rapid.T) string {
	return rapid.OneOf(
		rapid.StringMatching(`[A-Z][a-z]{1,8} [0-9]{1,3}`),
		rapid.SampledFrom([]string{"Čebelnjak", "Łąka", "Γεφύρι", "Пасека 2", "蜂場", "मधु", "نحل", "A\u030Angstr\u00F6m", `"quoted", \ and {braces}`, "<&>"}),
		rapid.StringOfN(rapid.RuneFrom([]rune("aé字,:\"\\]}'=-+ ")), 1, 12, -1).Filter(func(s string) bool { return strings.TrimSpace(s) != "" }),
	).Draw(t, "name")
}

func drawNote(t *rapid.T) string {
	return rapid.OneOf(rapid.Just(""), rapid.StringOfN(rapid.RuneFrom([]rune("aß字,\";:\\\n\t{}'=")), 0, 30, -1)).Draw(t, "note")
}

func drawDay(t *rapid.T, from scheduler.Date) scheduler.Date {
	return from + scheduler.Date(rapid.IntRange(0, 900).Draw(t, "days on"))
}

func drawPeriods(t *rapid.T) []scheduler.Period {
	var out []scheduler.Period
	for range rapid.IntRange(0, 2).Draw(t, "periods") {
		p := scheduler.Period{From: drawDay(t, scheduler.NewDate(2025, 1, 1)), Reason: drawNote(t)}
		if rapid.Bool().Draw(t, "ends") {
			p.Until = drawDay(t, p.From)
		}
		out = append(out, p)
	}
	return out
}

func drawForecast(t *rapid.T, on scheduler.Date) *scheduler.Forecast {
	f := &scheduler.Forecast{MadeOn: on, Openings: rapid.IntRange(0, 9).Draw(t, "known openings"), Rules: rapid.IntRange(0, 3).Draw(t, "rules version")}
	f.Hard, f.ModelHard = rapid.Float64Range(0, 1).Draw(t, "hard"), rapid.Float64Range(0, 1).Draw(t, "model hard")
	f.Stuck, f.ModelStuck = f.Hard*0.25, f.ModelHard*0.5
	if rapid.Bool().Draw(t, "recalibrated") {
		f.Recalibrated = on - 20
	}
	return f
}

func drawRules(t *rapid.T) scheduler.Rules {
	r := scheduler.DefaultRules()
	r.OddsLimit = rapid.Float64Range(0.01, 0.9).Draw(t, "odds limit")
	r.MinDays = rapid.IntRange(0, 100).Draw(t, "min days")
	r.Hours.Travel = rapid.Float64Range(0, 24).Draw(t, "travel")
	r.Reminders.DaysBefore = rapid.SampledFrom([][]int{nil, {0}, {14, 7, 1}}).Draw(t, "days before")
	r.Reminders.SendAt = scheduler.ClockTime(rapid.IntRange(0, 1439).Draw(t, "send at"))
	r.Stages[scheduler.Autumn].Required = rapid.SampledFrom([]scheduler.Required{"", scheduler.VisitRequired, scheduler.OpeningRequired}).Draw(t, "required")
	if rapid.Bool().Draw(t, "home") {
		r.Home = &scheduler.Home{Latitude: rapid.Float64Range(-90, 90).Draw(t, "latitude"), ElevationM: 200}
		for s := range scheduler.Stage(scheduler.NumStages) {
			r.Stages[s].Starts = scheduler.MonthDay{Month: time.Month(2 + 2*int(s)), Day: 29}
		}
	}
	return r
}

func (g *clubs) member(id int64) {
	t := g.t
	m := scheduler.Member{
		ID: id, PersonID: id, Name: drawName(t), Email: fmt.Sprintf("m%d@example.org", id),
		Role:     rapid.SampledFrom(roles).Draw(t, "role"),
		Phone:    rapid.SampledFrom([]string{"", "+43 1 234-56", "0123 (abends)"}).Draw(t, "phone"),
		Timezone: rapid.SampledFrom([]string{"", "Europe/Ljubljana", "America/Toronto"}).Draw(t, "zone"),
		Language: rapid.SampledFrom([]string{"", "en-GB", "sl"}).Draw(t, "language"),
		Units:    rapid.SampledFrom([]text.Units{"", "mm", "in"}).Draw(t, "units"),
		NoGo:     drawPeriods(t),
	}
	if rapid.Bool().Draw(t, "preferences") {
		at := scheduler.ClockTime(rapid.IntRange(0, 1439).Draw(t, "send at"))
		m.Prefs = scheduler.Preferences{
			DaysBefore: []int{5, 0}, SendAt: &at, Mute: []scheduler.MessageKind{scheduler.DayMessage},
			PausedUntil: scheduler.NewDate(2026, 3, 1), VisitHours: &scheduler.HoursOfDay{From: 540, Until: 1439},
			LongMail: rapid.Bool().Draw(t, "long mail"), Invitations: rapid.Bool().Draw(t, "invitations"),
			HoursADay:   float64(rapid.SampledFrom([]int{0, 2, 9, 96}).Draw(t, "quarters of an hour a day")) / 4,
			VisitsAWeek: rapid.IntRange(0, 50).Draw(t, "visits a week"), Weekdays: scheduler.WeekdaySet(rapid.IntRange(0, 127).Draw(t, "days")),
		}
	}
	g.c.Members = append(g.c.Members, m)
}

func (g *clubs) someMembers(label string) []int64 {
	var ids []int64
	for i := range g.c.Members {
		ids = append(ids, g.c.Members[i].ID)
	}
	if len(ids) == 0 {
		return nil
	}
	ids = rapid.Permutation(ids).Draw(g.t, label)
	ids = ids[:rapid.IntRange(0, len(ids)).Draw(g.t, "how many")]
	if len(ids) == 0 {
		return nil
	}
	return ids
}

// drawSeen draws days observed at an apiary.
func drawSeen(t *rapid.T) []scheduler.SeasonDay {
	var seen []scheduler.SeasonDay
	for _, event := range scheduler.SeasonEvents {
		on := scheduler.NewDate(2020, 3, 1)
		for range rapid.IntRange(0, 2).Draw(t, "days seen") {
			on += scheduler.Date(rapid.IntRange(1, 400).Draw(t, "later"))
			seen = append(seen, scheduler.SeasonDay{Event: event, On: on})
		}
	}
	return seen
}

func (g *clubs) apiary(id int64, hives int, hive *int64) {
	t := g.t
	a := scheduler.Apiary{
		ID: id, Name: fmt.Sprintf("%s %d", drawName(t), id),
		Latitude:   rapid.Float64Range(-90, 90).Draw(t, "latitude"),
		Longitude:  rapid.Float64Range(-180, 180).Draw(t, "longitude"),
		ElevationM: rapid.Float64Range(-430, 6000).Draw(t, "elevation"),
		Timezone:   "Europe/Ljubljana", SeasonShiftDays: rapid.IntRange(-183, 183).Draw(t, "shift"),
		Weekdays:    scheduler.WeekdaySet(rapid.IntRange(0, 127).Draw(t, "weekdays")),
		AccessNotes: drawNote(t), Keepers: g.someMembers("keepers"), NoGo: drawPeriods(t), Standstill: drawPeriods(t),
	}
	a.Region = rapid.SampledFrom(append([]scheduler.Region{""}, scheduler.Regions...)).Draw(t, "region")
	a.Seen = drawSeen(t)
	if rapid.Bool().Draw(t, "travel") {
		v := rapid.Float64Range(0, 24).Draw(t, "hours")
		a.TravelHours = &v
	}
	if rapid.Bool().Draw(t, "trip") {
		a.Trip = drawName(t)
	}
	for range hives {
		*hive++
		h := scheduler.Hive{
			ID: *hive, Name: fmt.Sprintf("%s %d", drawName(t), *hive),
			BeeSpace:   rapid.SampledFrom([]scheduler.BeeSpace{"", "top", "bottom"}).Draw(t, "bee space"),
			LeaveAlone: drawPeriods(t),
		}
		if rapid.Bool().Draw(t, "requeened") {
			h.Requeened = []scheduler.Date{scheduler.NewDate(2025, 6, 1), scheduler.NewDate(2024, 6, 1)}
		}
		for b := range rapid.IntRange(0, 3).Draw(t, "boxes") {
			box := g.box(fmt.Sprintf("%s %d", drawName(t), b))
			if rapid.Bool().Draw(t, "moved") {
				box.Places = []scheduler.BoxPlace{
					{From: box.SetUpOn, Where: scheduler.OnHive, HiveID: rapid.Int64Range(1, g.hives).Draw(t, "earlier hive"), Position: 3},
					{From: box.SetUpOn + 40, Where: scheduler.InStore},
					{From: box.SetUpOn + 80, Where: scheduler.OnHive, HiveID: h.ID},
				}
			}
			h.Boxes = append(h.Boxes, box)
		}
		a.Hives = append(a.Hives, h)
	}
	g.c.Apiaries = append(g.c.Apiaries, a)
}

func (g *clubs) box(name string) scheduler.Box {
	t := g.t
	b := scheduler.Box{Name: name, Kind: rapid.SampledFrom([]string{"deep", "medium", "shallow"}).Draw(t, "kind")}
	b.SetUpOn = drawDay(t, scheduler.NewDate(2023, 1, 1))
	if rapid.Bool().Draw(t, "repaired") {
		b.Repaired = []scheduler.Date{b.SetUpOn + 300}
		b.GuessedOn, b.GuessAnswered = b.SetUpOn+365, b.SetUpOn%2 == 0
	}
	for range rapid.IntRange(0, 4).Draw(t, "openings") {
		g.openings++
		o := scheduler.Opening{
			ID:        OpeningID("any", "", "", "", b.SetUpOn, g.openings),
			On:        drawDay(t, b.SetUpOn),
			Joint:     scheduler.Difficulty(rapid.IntRange(-1, 4).Draw(t, "joint")),
			Frames:    scheduler.Difficulty(rapid.IntRange(-1, 4).Draw(t, "frames")),
			LeftShut:  rapid.Bool().Draw(t, "left shut"),
			Scraped:   rapid.SampledFrom(scrapings).Draw(t, "scraped"),
			Condition: rapid.SampledFrom([][]scheduler.Condition{nil, {scheduler.Rot}, {scheduler.Warped, scheduler.WaxMoth}}).Draw(t, "condition"),
			Note:      drawNote(t),
		}
		switch {
		case o.LeftShut:
			o.Joint = max(o.Joint, scheduler.Loose)
		case rapid.Bool().Draw(t, "scraping not said"):
			o.Scraped = ""
		}
		if n := len(b.Openings); n > 0 && rapid.Bool().Draw(t, "corrects") {
			o.Supersedes, o.Void = b.Openings[n-1].ID, rapid.Bool().Draw(t, "void")
		}
		if rapid.Bool().Draw(t, "gaps") {
			o.Gaps = []scheduler.Gap{
				{At: scheduler.AboveFrames, MM: rapid.Float64Range(0, 100).Draw(t, "mm")},
				{At: scheduler.Entrance, Peg: scheduler.ThickGoes},
				{At: scheduler.FrameLug, MM: 1.5, Peg: scheduler.ThinWontGo},
			}
		}
		if who := g.someMembers("by"); who != nil {
			o.By = who[0]
		}
		if rapid.Bool().Draw(t, "somebody else") {
			o.Opener = &scheduler.Opener{Name: rapid.SampledFrom([]string{"", "Old Tam", "=Tam; the elder"}).Draw(t, "opener")}
			if who := g.someMembers("opener"); who != nil {
				o.NameOpener(scheduler.Opener{Member: who[0]})
			}
		}
		if rapid.Bool().Draw(t, "said") {
			o.Said = drawForecast(t, o.On)
		}
		b.Openings = append(b.Openings, o)
	}
	return b
}

func (g *clubs) spare() {
	b := g.box(rapid.SampledFrom([]string{"S", "T"}).Draw(g.t, "name"))
	last := b.SetUpOn
	for i := range b.Openings {
		last = max(last, b.Openings[i].On)
	}
	switch rapid.SampledFrom(places[1:]).Draw(g.t, "where") {
	case scheduler.InStore:
		b.Places = []scheduler.BoxPlace{{From: b.SetUpOn, Where: scheduler.InStore}}
	case scheduler.Lent:
		b.Places = []scheduler.BoxPlace{{From: last, Where: scheduler.Lent, LentTo: drawNote(g.t), Until: last + 50}}
	case scheduler.Retired:
		b.RetiredOn = last
		b.Places = []scheduler.BoxPlace{{From: last, Where: scheduler.Retired}}
	}
	g.c.Spare = append(g.c.Spare, b)
}

// number gives the boxes their ids in the order of Parse.
func (g *clubs) number() {
	p := parser{club: &g.c}
	p.numberBoxes()
}

// events draws what happened to colonies: anything that the document can carry, as
// it would stand there if it made sense.
func (g *clubs) events() {
	t, n := g.t, 0
	ids := slices.Sorted(maps.Values(boxKeys(&g.c)))
	for i := range g.c.Apiaries {
		for j := range g.c.Apiaries[i].Hives {
			h, on := &g.c.Apiaries[i].Hives[j], scheduler.NewDate(2025, 3, 1)
			for range rapid.IntRange(0, 2).Draw(t, "events") {
				n++
				on = drawDay(t, on)
				e := scheduler.ColonyEvent{
					ID: OpeningID("event", "", "", "", on, n), On: on, What: rapid.SampledFrom(scheduler.Fates).Draw(t, "what"),
					Ended: rapid.Bool().Draw(t, "ended"), Whom: drawNote(t), Note: drawNote(t),
				}
				if rapid.Bool().Draw(t, "other") {
					e.OtherID, e.Queen = rapid.Int64Range(1, g.hives).Draw(t, "other hive"), rapid.SampledFrom(queens).Draw(t, "queen")
				}
				if rapid.Bool().Draw(t, "from elsewhere") {
					e.FromApiary = rapid.SampledFrom(g.c.Apiaries).Draw(t, "from").ID
				}
				if periods := drawPeriods(t); len(periods) > 0 {
					e.Alone = periods[0]
				}
				for _, id := range ids {
					if rapid.Bool().Draw(t, "went") {
						e.Boxes = append(e.Boxes, scheduler.EventBox{BoxID: id, Position: int(id%100) + 1, Listed: id%2 == 0, Openings: int(id % 3)})
						e.Under = append(e.Under, id)
					}
				}
				if who := g.someMembers("noted by"); who != nil {
					e.By = who[0]
				}
				h.Events = append(h.Events, e)
			}
		}
	}
}

func (g *clubs) visit(id int64) {
	t := g.t
	if len(g.c.Apiaries) == 0 {
		return
	}
	v := scheduler.Visit{
		ID: id, UID: fmt.Sprintf("visit-%d", id), ApiaryID: rapid.SampledFrom(g.c.Apiaries).Draw(t, "apiary").ID,
		On: drawDay(t, scheduler.NewDate(2026, 1, 1)), Status: rapid.SampledFrom(statuses).Draw(t, "status"),
		Sequence: rapid.IntRange(0, 40).Draw(t, "sequence"), Pinned: rapid.Bool().Draw(t, "pinned"), Who: g.someMembers("who"), NoTime: rapid.Bool().Draw(t, "no time"),
		For: rapid.SampledFrom([]scheduler.Required{"", "opening", "visit"}).Draw(t, "for"),
	}
	if len(v.Who) > 0 && rapid.Bool().Draw(t, "taken") {
		v.Taken = v.Who[:1]
	}
	for _, id := range g.someMembers("refused") {
		if !slices.Contains(v.Who, id) {
			v.Refused = append(v.Refused, id)
		}
	}
	if v.Status == scheduler.Cancelled && rapid.Bool().Draw(t, "off") {
		v.OffUntil, v.OffFrom = v.On+28, scheduler.Confirmed
	}
	if rapid.Bool().Draw(t, "seen") {
		v.FirstSeen = v.On - 20
	}
	for _, id := range slices.Sorted(maps.Values(boxKeys(&g.c))) {
		if id%2 == 0 {
			v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: id, Due: v.On, Reason: scheduler.BecauseOdds, Odds: 0.125, Stuck: 0.03125})
		} else {
			v.NotBoxes = append(v.NotBoxes, id)
		}
		if v.Status == scheduler.Done && id%3 == 0 {
			v.NotOpened = append(v.NotOpened, id)
		}
		if rapid.Bool().Draw(t, "ticked") {
			v.Ticks = append(v.Ticks, scheduler.Tick{Step: scheduler.StepJoint, BoxID: id, On: v.On})
		}
	}
	by := int64(0)
	if who := g.someMembers("ticked by"); who != nil {
		by = who[0]
	}
	for _, a := range g.c.Apiaries {
		for _, h := range a.Hives {
			if rapid.Bool().Draw(t, "ticked") {
				v.Ticks = append(v.Ticks, scheduler.Tick{Step: scheduler.StepLid, HiveID: h.ID, On: v.On + 1, By: by})
			}
		}
	}
	slices.SortFunc(v.Ticks, scheduler.CompareTicks)
	g.c.Visits = append(g.c.Visits, v)
}

// told draws what members were told of visits and of apiaries.
func (g *clubs) told() {
	for _, m := range g.c.Members {
		t := scheduler.Told{MemberID: m.ID, ToldOn: drawDay(g.t, scheduler.NewDate(2026, time.March, 1))}
		switch {
		case len(g.c.Visits) > 0 && rapid.Bool().Draw(g.t, "told of a visit"):
			v := rapid.SampledFrom(g.c.Visits).Draw(g.t, "visit told of")
			if v.UID == "" {
				continue
			}
			t.VisitUID, t.On, t.Kind = v.UID, v.On, rapid.SampledFrom(toldKinds).Draw(g.t, "kind of message")
		case len(g.c.Apiaries) > 0:
			t.ApiaryID, t.Kind = rapid.SampledFrom(g.c.Apiaries).Draw(g.t, "apiary told of").ID, scheduler.OverdueMessage
		default:
			continue
		}
		g.c.Told = append(g.c.Told, t)
	}
}
