package web

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/store"
)

// homeView is what is due, for people.
type homeView struct {
	Overdue string
	Weeks   []weekView
	Visits  int
	Boxes   []boxLine
	Caution string
}

type weekView struct {
	Title  string
	Visits []visitCard
}

type visitCard struct {
	On     scheduler.Date
	Day    string
	Apiary string
	Status scheduler.VisitStatus
	Who    string
	Count  int // how many go
	Why    string
	Opens  string
	Near   bool
	Boxes  []boxLine
}

type boxLine struct {
	Apiary, Hive, Box string
	Due               scheduler.Date
	DueDay            string
	Chance            string
	Why               string
	Overdue           bool
}

func (s *Server) home(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	var plan *scheduler.Plan
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Outline(r.Context()); err != nil {
			return err
		}
		plan, err = tx.SavedPlan(r.Context(), s.today("UTC"))
		return err
	})
	if err != nil {
		return err
	}
	name := scheduler.NewNames(club).Member(who.MemberID)
	return s.show(w, http.StatusOK, "home", view{
		Title: "What is due", Club: club.Name, Member: name, Page: newHomeView(club, plan, s.today("UTC")),
	})
}

func newHomeView(club *scheduler.Club, plan *scheduler.Plan, today scheduler.Date) homeView {
	names := scheduler.NewNames(club)
	v := homeView{
		Visits:  len(plan.Visits),
		Caution: "Wear protection, keep a phone and somebody who knows where you are, mind fire bans, and lift with two or frame by frame. A box that will not come apart is left shut.",
	}
	states := map[int64]*scheduler.BoxState{}
	overdue := 0
	for i := range plan.Boxes {
		b := &plan.Boxes[i]
		states[b.BoxID] = b
		if b.Overdue {
			overdue++
		}
		if b.Due != 0 {
			v.Boxes = append(v.Boxes, newBoxLine(club, plan, names, b))
		}
	}
	slices.SortStableFunc(v.Boxes, func(a, b boxLine) int { return cmp.Compare(a.Due, b.Due) })
	if overdue > 0 {
		v.Overdue = fmt.Sprintf("%s past the day by which the rules want it opened.", count(overdue, "box is", "boxes are"))
	}
	for i := range plan.Visits {
		visit := &plan.Visits[i]
		card := visitCard{
			On: visit.On, Day: visit.On.Format("Mon 2 Jan"), Apiary: names.Apiary(visit.ApiaryID), Status: visit.Status,
			Count: len(visit.Who), Why: scheduler.ExplainVisit(club, plan, visit).String(),
			Opens: "Opens " + count(len(visit.Boxes), "box", "boxes"), Near: visit.On < today+14,
		}
		var going []string
		for _, id := range visit.Who {
			going = append(going, names.Member(id))
		}
		card.Who = scheduler.JoinNames(going)
		for _, b := range visit.Boxes {
			if state := states[b.BoxID]; state != nil {
				card.Boxes = append(card.Boxes, newBoxLine(club, plan, names, state))
			}
		}
		title := weekTitle(visit.On, today)
		if n := len(v.Weeks); n == 0 || v.Weeks[n-1].Title != title {
			v.Weeks = append(v.Weeks, weekView{Title: title})
		}
		last := &v.Weeks[len(v.Weeks)-1]
		last.Visits = append(last.Visits, card)
	}
	return v
}

func newBoxLine(club *scheduler.Club, plan *scheduler.Plan, names *scheduler.Names, b *scheduler.BoxState) boxLine {
	hive, box := names.Box(b.BoxID)
	return boxLine{
		Apiary: names.Apiary(b.ApiaryID), Hive: hive, Box: box, Due: b.Due, DueDay: b.Due.Format("2 Jan 2006"),
		Chance: chance(b.Odds), Why: scheduler.ExplainBox(club, plan, b).String(), Overdue: b.Overdue,
	}
}

// chance says odds as people do.
func chance(odds float64) string {
	switch {
	case odds < 0.02:
		return "hardly any"
	case odds > 0.95:
		return "almost sure"
	case odds >= 0.55:
		return fmt.Sprintf("%d in 10", int(math.Round(odds*10)))
	default:
		return fmt.Sprintf("1 in %d", int(math.Round(1/odds)))
	}
}

// weekTitle names the stretch of time that a visit falls in.
func weekTitle(on, today scheduler.Date) string {
	switch days := on - today; {
	case days < 0:
		return "Past its day"
	case days == 0:
		return "Today"
	case days < 7:
		return "In the next seven days"
	case days < 28:
		return "In the next four weeks"
	default:
		return on.Format("January 2006")
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
