package web

import (
	"errors"
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
	"pryday/store"
)

// guidePages are the pages of the guide in the order in which they are read, with
// the keys of their titles and of what they are about.
var guidePages = []struct{ name, title, about string }{
	{"dates", "guide.dates.title", "guide.dates.about"},
	{"grades", "guide.grades.title", "guide.grades.about"},
	{"gaps", "guide.gaps.title", "guide.gaps.about"},
	{"calendars", "guide.calendars.title", "guide.calendars.about"},
	{"mails", "guide.mails.title", "guide.mails.about"},
	{"unknown", "guide.unknown.title", "guide.unknown.about"},
	{"care", "guide.care.title", "guide.care.about"},
}

// guidePlaceOf is where a page stands among guidePages, or -1.
func guidePlaceOf(name string) int {
	for i := range guidePages {
		if guidePages[i].name == name {
			return i
		}
	}
	return -1
}

// guideView is one page of the guide. It is for members and strangers alike: who
// has signed in reads of their club's rules, a stranger of the ones it begins with.
type guideView struct {
	Here    string // empty for the list of pages
	Pages   []guideLink
	Next    *guideLink
	Member  bool
	Steps   *dateSteps    // of the page about dates
	Degrees []guideDegree // of the page about degrees
	Gaps    *guideGaps
	Devices []guideDevice
	Mails   *guideMails
	Limit   string // the chance that a box is opened before, in words
	Care    []guideCare
}

type guideLink struct{ Path, Title, About string }

// guideDegree is one of the five degrees, as hands and tool feel it.
type guideDegree struct {
	N                            int
	Word, Joint, Frames, Example string
}

// guideGaps are the limits of bee space and what pegs that thick find.
type guideGaps struct {
	Thin, Thick, About string
	Pegs               []guidePeg
	Places             []string
	Odd                []guidePlace
}

// guidePeg is an answer of two pegs, drawn; units of the drawing are tenths of a
// millimetre across.
type guidePeg struct {
	Word, Verdict string
	Wide          int // the gap
	Thin, Thick   int // the pegs
	ThinY, ThickY int // how far each goes in
}

type guidePlace struct{ Place, Verdict string }

// guideMails are the rules of when mails come.
type guideMails struct {
	Before     text.Text // a visit
	MostAWeek  int
	AnswerDays int
	Quiet      int
}

type guideCare struct {
	Head string
	Says []string
}

// guide answers for every page of the guide, whoever asks.
func (s *Server) guide(w http.ResponseWriter, r *http.Request) error {
	here := r.PathValue("page")
	if here != "" && guidePlaceOf(here) < 0 {
		return s.nothingHere(w, r)
	}
	who, err := s.visitor(r)
	if err != nil {
		if problemOf(err) == nil {
			return err
		}
		who = nil // of no club, or of another than the address says
	}
	if who == nil {
		say := stranger(r)
		p := inventedRecords(say, new(scheduler.Club).Today(s.now()))
		v := newGuideView(here, p)
		if here == "dates" {
			v.Steps = p.dateSteps(p.inventedBox())
			v.Steps.Invented = say.Say("guide.dates.invented")
		}
		return s.show(w, r, http.StatusOK, guideTemplate(here), view{Title: v.title(say), Here: "guide", Page: v, say: say})
	}
	return s.guideTo(w, r, who, here)
}

// guideTo shows a page of the guide to a member, with a box of the club where one
// is drawn: the one that is asked for, or that of the most openings.
func (s *Server) guideTo(w http.ResponseWriter, r *http.Request, who *visitor, here string) error {
	if here == "dates" {
		p, h, b, err := s.guideBox(r, who)
		if err != nil {
			return err
		}
		if p != nil {
			v := newGuideView(here, p)
			v.Member, v.Steps = true, p.dateSteps(h, b)
			return s.showTo(w, r, who, p.club, http.StatusOK, guideTemplate(here), v.title(p.say), v)
		}
	}
	var club *scheduler.Club
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		tx.Last()
		club, err = tx.Apiaries(r.Context())
		return err
	})
	if err != nil {
		return err
	}
	say := speaker(club, who.MemberID)
	v := newGuideView(here, &apiaryRecords{club: club, say: say})
	v.Member = true
	if here == "dates" {
		p := inventedRecords(say, club.Today(s.now()))
		v.Steps = p.dateSteps(p.inventedBox())
		v.Steps.Invented = say.Say("guide.dates.invented-member")
	}
	return s.showTo(w, r, who, club, http.StatusOK, guideTemplate(here), v.title(say), v)
}

// guideBox reads the box to draw; no records where the club has none that was opened.
func (s *Server) guideBox(r *http.Request, who *visitor) (p *apiaryRecords, h *scheduler.Hive, b *scheduler.Box, err error) {
	id := parseID(r.URL.Query().Get("box"))
	err = s.inAnyClub(r.Context(), who, func(tx *store.Tx) error {
		if id == 0 {
			found, err := tx.MostOpened(r.Context(), who.MemberID)
			if errors.Is(err, store.ErrNotFound) {
				return nil
			}
			if err != nil {
				return err
			}
			id = found
		}
		tx.Last()
		a, err := tx.RecordsAroundBox(r.Context(), id)
		if err == nil {
			p = s.apiaryRecords(a, who)
			h, b = p.findBox(id)
		}
		return err
	})
	if h == nil || b == nil || len(scheduler.Effective(b.Openings)) == 0 { // it stands on no hive, or was never opened
		return nil, nil, nil, err
	}
	return p, h, b, err
}

func guideTemplate(here string) string {
	if here == "" {
		return "guide"
	}
	return "guide-" + here
}

func guidePath(page string) string { return "/guide/" + page }

func (v *guideView) title(say *text.Speaker) string {
	if at := guidePlaceOf(v.Here); at >= 0 {
		return v.Pages[at].Title
	}
	return say.Say("guide.title")
}

func newGuideView(here string, p *apiaryRecords) *guideView {
	v := &guideView{Here: here, Limit: p.inSoMany(p.club.SaidLimit())}
	for _, page := range guidePages {
		v.Pages = append(v.Pages, guideLink{guidePath(page.name), p.say.Say(page.title), p.say.Say(page.about)})
	}
	if next := guidePlaceOf(here) + 1; next < len(guidePages) {
		v.Next = &v.Pages[next]
	}
	switch here {
	case "grades":
		v.Degrees = guideDegrees(p.say)
	case "gaps":
		v.Gaps = newGuideGaps(p)
	case "calendars":
		v.Devices = guideDevices(p.say)
	case "mails":
		v.Mails = newGuideMails(p)
	case "care":
		v.Care = guideCares(p.say)
	}
	return v
}

func guideDegrees(say *text.Speaker) (out []guideDegree) {
	for d := scheduler.Loose; d <= scheduler.Stuck; d++ {
		out = append(out, guideDegree{
			N: int(d), Word: say.Word(d), Joint: sentence(say.Tell(scheduler.JointWords(d))), Frames: sentence(say.Tell(scheduler.FramesWords(d))),
			Example: say.Say("guide.grades.example." + itoa(int64(d))),
		})
	}
	return out
}

func newGuideGaps(p *apiaryRecords) *guideGaps {
	limits := p.club.Rules.GapMM
	g := &guideGaps{Thin: p.say.Length(limits.Least), Thick: p.say.Length(limits.Most), About: p.say.Length(advice.MeasuringSDMM)}
	for _, peg := range []struct {
		answer        scheduler.Peg
		mm            float64 // a gap that gives this answer
		thinIn, inToo bool
	}{
		{scheduler.ThinWontGo, limits.Least - 2, false, false},
		{scheduler.ThinGoes, (limits.Least + limits.Most) / 2, true, false},
		{scheduler.ThickGoes, limits.Most + 2, true, true},
	} {
		found := scheduler.Gap{At: scheduler.BetweenFrames, Peg: peg.answer}
		drawn := guidePeg{
			Word: sentence(p.say.Word(peg.answer)), Verdict: sentence(p.say.Word(advice.JudgeGap(found, limits))),
			Wide: int(10 * peg.mm), Thin: int(10 * limits.Least), Thick: int(10 * limits.Most),
			ThinY: pegOut, ThickY: pegOut,
		}
		if peg.thinIn {
			drawn.ThinY = pegIn
		}
		if peg.inToo {
			drawn.ThickY = pegIn
		}
		g.Pegs = append(g.Pegs, drawn)
	}
	for _, at := range scheduler.GapPlaces {
		g.Places = append(g.Places, p.say.Word(at))
	}
	for _, odd := range []scheduler.Gap{
		{At: scheduler.FrameLug, MM: 1}, {At: scheduler.BelowFrames, MM: limits.Most + 10}, {At: scheduler.Entrance, MM: limits.Most + 10},
	} {
		g.Odd = append(g.Odd, guidePlace{capital(p.say.Word(odd.At)), p.say.Word(advice.JudgeGap(odd, limits))})
	}
	return g
}

// How deep a peg stands in a gap of the drawing, in its units.
const (
	pegOut = 0
	pegIn  = 70
)

func newGuideMails(p *apiaryRecords) *guideMails {
	rules := &p.club.Rules
	m := &guideMails{Before: text.New("guide.mails.before-none"), MostAWeek: rules.Reminders.MostAWeek, AnswerDays: rules.AnswerDays, Quiet: rules.Reminders.QuietAfter}
	var days []string
	for _, d := range rules.Reminders.DaysBefore {
		days = append(days, itoa(int64(d)))
	}
	if len(days) > 0 {
		m.Before = text.New("guide.mails.before", days, rules.Reminders.SendAt.String())
	}
	return m
}

// guideCares are the cautions that hold on any visit, in the order in which they
// hurt most people.
func guideCares(say *text.Speaker) []guideCare {
	return []guideCare{
		{say.Say("guide.care.stings"), []string{say.Say("caution.stings")}},
		{say.Say("guide.care.lifting"), []string{say.Say("caution.lifting-general"), say.Say("caution.left-shut")}},
		{say.Say("guide.care.fire"), []string{say.Say("caution.fire")}},
		{say.Say("guide.care.alone"), []string{say.Say("caution.alone-any"), say.Say("caution.heat")}},
		{say.Say("guide.care.tools"), []string{say.Say("caution.brittle"), say.Say("caution.tools")}},
		{say.Say("guide.care.bees"), []string{say.Say("caution.robbing"), say.Say("caution.brood")}},
		{say.Say("guide.care.treatment"), []string{say.Say("caution.treatment")}},
		{say.Say("guide.care.law"), []string{say.Say("caution.law"), say.Say("caution.who-decides")}},
	}
}
