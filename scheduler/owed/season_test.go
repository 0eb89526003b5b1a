package owed

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pryday/scheduler"
)

// season plays people through the days of a club: every morning its apiaries
// are planned and mails decided, and people answer or do not.
type season struct {
	club    *scheduler.Club
	planner scheduler.Planner
	box     *mailbox
	rng     *rand.Rand
	answers float64            // the part of mails that people act on
	away    []scheduler.Period // of member 2
	inbox   map[int64][]Message
	missed  int
	visits  int64

	remade []string // visits of boxes that came back too soon
	closed map[int64]scheduler.Date
}

// newSeason is a club of an organiser and five keepers with six apiaries.
func newSeason(id int64, seed uint64, answers float64) *season {
	s := &season{
		club: &scheduler.Club{ID: id, Name: "Hollow Lane Bees", Rules: scheduler.DefaultRules()}, rng: rand.New(rand.NewPCG(seed, 7)), answers: answers,
		inbox: map[int64][]Message{}, closed: map[int64]scheduler.Date{}, box: newMailbox(),
	}
	s.box.before.Mail = map[int64][]Mailed{}
	for m := range int64(6) {
		role := scheduler.Keeper
		if m == 0 {
			role = scheduler.Organiser
		}
		s.club.Members = append(s.club.Members, scheduler.Member{ID: m + 1, PersonID: m + 1, Role: role, Timezone: "Europe/Vienna"})
	}
	box := int64(0)
	for a := range int64(6) {
		apiary := scheduler.Apiary{
			ID: a + 1, Name: fmt.Sprint("Apiary ", a+1), Latitude: 47 + float64(a)/2, Longitude: 14, Timezone: "Europe/Vienna",
			Keepers: []int64{a + 1, (a+1)%6 + 1},
		}
		for h := range int64(4) {
			hive := scheduler.Hive{ID: 10*(a+1) + h, Name: fmt.Sprint("Hive ", h)}
			for range 2 {
				box++
				hive.Boxes = append(hive.Boxes, scheduler.Box{
					ID: box, Name: fmt.Sprint("B", box), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 5, 1),
					Openings: []scheduler.Opening{{
						ID: fmt.Sprint("first ", box), On: scheduler.NewDate(2026, 5, 1) + scheduler.Date(s.rng.IntN(120)),
						Joint: scheduler.Difficulty(s.rng.IntN(4)), Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll,
					}},
				})
			}
			apiary.Hives = append(apiary.Hives, hive)
		}
		s.club.Apiaries = append(s.club.Apiaries, apiary)
	}
	return s
}

// day plays one day; others are mails that its people get from other clubs.
func (s *season) day(t *testing.T, today scheduler.Date, others map[int64][]Mailed) {
	t.Helper()
	plan := s.planner.PlanClub(s.club, today)
	s.remember(plan, today)
	s.club.Members[1].NoGo = s.away
	for person, list := range others {
		s.box.before.Mail[person] = append(s.box.before.Mail[person], list...)
	}
	now := today.At(7*60+1, time.FixedZone("", 2*3600))
	for _, m := range s.box.tick(t, s.club, plan, now) {
		if m.PassedOver != "" {
			continue
		}
		s.box.before.Mail[m.MemberID] = append(s.box.before.Mail[m.MemberID], Mailed{
			On: m.On, ClubID: s.club.ID, Free: m.Free, Weekly: m.Kind == scheduler.EscalateMessage,
		})
		s.inbox[m.MemberID] = append(s.inbox[m.MemberID], m)
		s.answer(m, today)
	}
	s.visit(today)
}

// remember stores a plan, and notes boxes that come back too soon after a
// visit that came to nothing.
func (s *season) remember(plan *scheduler.Plan, today scheduler.Date) {
	put := func(v scheduler.Visit) {
		if v.ID == 0 {
			s.visits++
			v.ID, v.UID, v.FirstSeen = s.visits, fmt.Sprintf("%d-%d", s.club.ID, s.visits), today
			for _, b := range v.Boxes {
				if on, ok := s.closed[b.BoxID]; ok && v.On <= on+7 && b.Reason != scheduler.BecauseAbove {
					s.remade = append(s.remade, fmt.Sprintf("box %d of %s again on %s", b.BoxID, on, v.On))
				}
			}
			s.club.Visits = append(s.club.Visits, v)
			return
		}
		i := slices.IndexFunc(s.club.Visits, func(o scheduler.Visit) bool { return o.ID == v.ID })
		s.club.Visits[i] = v
	}
	for _, v := range plan.Past {
		put(v)
		if v.Status == scheduler.Missed {
			s.missed++
		}
		if v.Status == scheduler.Unanswered {
			for _, b := range v.Boxes {
				s.closed[b.BoxID] = v.On
			}
		}
	}
	for _, v := range plan.Cancel {
		put(v)
	}
	for i := range plan.Visits {
		put(plan.Visits[i])
		plan.Visits[i] = *s.find(i, plan)
	}
}

func (s *season) find(i int, plan *scheduler.Plan) *scheduler.Visit {
	id := plan.Visits[i].ID
	if id == 0 {
		return &s.club.Visits[len(s.club.Visits)-1]
	}
	return &s.club.Visits[slices.IndexFunc(s.club.Visits, func(v scheduler.Visit) bool { return v.ID == id })]
}

// answer does what a mail asks for, if this person does that.
func (s *season) answer(m Message, today scheduler.Date) {
	for _, it := range m.Items {
		if s.rng.Float64() >= s.answers || it.VisitUID == "" {
			continue
		}
		v := &s.club.Visits[slices.IndexFunc(s.club.Visits, func(v scheduler.Visit) bool { return v.UID == it.VisitUID })]
		switch it.Kind {
		case scheduler.DigestMessage, scheduler.DayMessage:
			_ = v.Take(m.MemberID)
		case scheduler.AskMessage:
			s.open(v, v.On)
		}
	}
}

// visit makes the visits of a day that somebody took.
func (s *season) visit(today scheduler.Date) {
	for i := range s.club.Visits {
		if v := &s.club.Visits[i]; v.On == today && v.Status.Open() && v.IsTaken() {
			s.open(v, today)
		}
	}
}

func (s *season) open(v *scheduler.Visit, on scheduler.Date) {
	for a := range s.club.Apiaries {
		for h := range s.club.Apiaries[a].Hives {
			for b := range s.club.Apiaries[a].Hives[h].Boxes {
				box := &s.club.Apiaries[a].Hives[h].Boxes[b]
				if slices.ContainsFunc(v.Boxes, func(vb scheduler.VisitBox) bool { return vb.BoxID == box.ID }) {
					delete(s.closed, box.ID)
					box.Openings = append(box.Openings, scheduler.Opening{
						ID: fmt.Sprint(box.ID, on), On: on, Joint: scheduler.Difficulty(s.rng.IntN(3)), Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll,
					})
				}
			}
		}
	}
	if len(v.Boxes) == 0 && v.May(scheduler.VisitFinished) {
		if err := v.Happen(scheduler.VisitFinished); err != nil {
			panic(err)
		}
	}
}

// most returns the most that one person got in any 30 days, and the mean a
// person and month.
func (s *season) most() (most int, mean float64) {
	all := 0
	for _, mails := range s.inbox {
		all += len(mails)
		for i := range mails {
			n := 0
			for _, m := range mails[i:] {
				if m.On < mails[i].On+30 {
					n++
				}
			}
			most = max(most, n)
		}
	}
	return most, float64(all) / float64(len(s.club.Members)) / (seasonDays / 30.4)
}

// TestASeasonOfPeople: whoever answers what, nobody is mailed more than the
// rules allow, silence costs fewer mails than answers, organisers hear of it,
// and no visit comes back within the week.
func TestASeasonOfPeople(t *testing.T) {
	start := scheduler.NewDate(2027, time.March, 28)
	for _, tc := range []struct {
		name    string
		answers float64
		holiday bool
		most    int // mails to one person in 30 days
	}{
		{"all answer", 1, false, 20},
		{"half answer", 0.5, false, 20},
		{"nobody answers", 0, false, 8},
		{"one is on holiday", 0.85, true, 20},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := newSeason(1, 11, tc.answers)
			if tc.holiday {
				s.away = []scheduler.Period{{From: start + 40, Until: start + 70}}
			}
			for d := range scheduler.Date(seasonDays) {
				s.day(t, start+d, nil)
			}
			checkBudget(t, s)
			most, mean := s.most()
			t.Logf("%s: %.1f mails a person and month, at most %d in 30 days; %d visits, %d missed", tc.name, mean, most, s.visits, s.missed)
			if most > tc.most {
				t.Errorf("%d mails to one person in 30 days, want at most %d", most, tc.most)
			}
			if len(s.remade) > 0 {
				t.Errorf("%d boxes came back within the week, first %s", len(s.remade), s.remade[0])
			}
			if tc.answers == 0 {
				checkSilence(t, s, start)
			}
		})
	}
}

// checkBudget holds every mailbox against the rules.
func checkBudget(t *testing.T, s *season) {
	t.Helper()
	for member, mails := range s.inbox {
		days := map[scheduler.Date]int{}
		for i, m := range mails {
			change := len(m.Items) > 0 && m.Items[0].cannotWait(m.On)
			if !change {
				days[m.On]++
			}
			if days[m.On] > 1 {
				t.Errorf("member %d got two mails on %s", member, m.On)
			}
			week := 0
			for _, o := range mails[:i+1] {
				if !o.Free && o.On > m.On-weekDays {
					week++
				}
			}
			if week > s.club.Rules.Reminders.MostAWeek {
				t.Errorf("member %d got %d mails in the week to %s", member, week, m.On)
			}
			if m.Kind == scheduler.EscalateMessage && slices.ContainsFunc(m.Items, func(it Item) bool { return it.Kind != scheduler.EscalateMessage }) {
				t.Errorf("the organisers' mail of %s is mixed with another", m.On)
			}
		}
	}
}

// checkSilence: from the second silent round on the organiser hears of it
// every week.
func checkSilence(t *testing.T, s *season, start scheduler.Date) {
	t.Helper()
	var told []scheduler.Date
	silent := 0
	for _, m := range s.inbox[1] {
		if m.Kind == scheduler.EscalateMessage {
			told = append(told, m.On)
			silent = max(silent, len(m.Items))
		}
	}
	if len(told) == 0 || silent < 5 {
		t.Fatalf("the organiser was told on %v, of at most %d apiaries", told, silent)
	}
	if told[0] > start+75 {
		t.Errorf("first told on %s", told[0])
	}
	for i, on := range told[1:] {
		if gap := on - told[i]; gap < escalateEvery || gap > escalateEvery+3 {
			t.Errorf("told on %s and then on %s", told[i], on)
		}
	}
}

// TestOnePersonOfTwoClubs gets no more mails than one of a single club.
func TestOnePersonOfTwoClubs(t *testing.T) {
	start := scheduler.NewDate(2027, time.March, 28)
	clubs := []*season{newSeason(1, 3, 0.5), newSeason(2, 4, 0.5)}
	for d := range scheduler.Date(120) {
		for i, s := range clubs {
			var others map[int64][]Mailed
			other := clubs[1-i].box.before.Mail
			others = map[int64][]Mailed{}
			for person, list := range other {
				for _, m := range list {
					if m.ClubID != s.club.ID && !slices.Contains(s.box.before.Mail[person], m) {
						others[person] = append(others[person], m)
					}
				}
			}
			s.day(t, start+d, others)
		}
	}
	for person := range int64(6) {
		mails := slices.Concat(clubs[0].inbox[person+1], clubs[1].inbox[person+1])
		slices.SortStableFunc(mails, func(a, b Message) int { return int(a.On - b.On) })
		for i, m := range mails {
			week, sameDay := 0, 0
			for _, o := range mails[:i+1] {
				if !o.Free && o.On > m.On-weekDays {
					week++
				}
				if o.On == m.On && !o.Items[0].cannotWait(o.On) {
					sameDay++
				}
			}
			if week > 3 || sameDay > 1 {
				t.Errorf("person %d got %d mails in the week to %s, %d on it", person+1, week, m.On, sameDay)
			}
		}
	}
}

// seasonDays is how long a season is played.
const seasonDays = 200
