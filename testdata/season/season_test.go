package season

import (
	"context"
	"fmt"
	"os"
	"slices"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// A season is played whole where there is time; where there is not, as far as
// the first weeks of silence go.
const (
	wholeSeason = 200
	firstWeeks  = 30
)

// played is one way in which people behave.
type played struct {
	name  string
	habit habit
	clubs func(c *scheduler.Club, from scheduler.Date) []*scheduler.Club // nil for the one
	short bool                                                           // played without PRYDAY_SOAK too
	most  int                                                            // mails to a person in any 30 days; 0 for what the week allows

	before, after func(*town) // what is its own; nil for nothing
}

const (
	fennimoor = "tobias@example.net" // keeps Quarry Field alone, and Mill Meadow with another
	haldersby = "rufus@example.org"  // keeps Ferry Landing alone
)

var ways = []played{
	{name: "all answer", habit: habit{answers: 1}},
	{name: "85 % answer", habit: habit{answers: 0.85}},
	{name: "half answer", habit: habit{answers: 0.5}, short: true},
	{name: "nobody answers", short: true, most: mostAMonth},
	{name: "two on holiday", habit: habit{answers: 0.85}, clubs: holidays, before: (*town).leave, after: (*town).keepsHolidays},
	{name: "one never can", habit: habit{answers: 0.85}, before: func(w *town) { w.people[fennimoor].refuses = true }, after: (*town).keepsRefusals},
	{name: "two clubs, nobody answers", clubs: twice, short: true, most: mostAMonth},
	{name: "two clubs, half answer", habit: habit{answers: 0.5}, clubs: twice},
}

// TestSeasons: whoever answers what, nobody is mailed more than the rules
// allow, organisers hear of silence, and no visit comes back within the week.
func TestSeasons(t *testing.T) {
	days := firstWeeks
	if testrun.Soak() {
		days = wholeSeason
	}
	seed := testrun.Rand(t).Uint64() // the same hives and lots for all
	tallies := make([]tally, len(ways))
	t.Run("all", func(t *testing.T) {
		for i, way := range ways {
			if way.short || testrun.Soak() {
				t.Run(way.name, func(t *testing.T) {
					t.Parallel()
					w := way.play(t, seed, days)
					tallies[i] = w.ledger.tally(way.name, len(w.people))
				})
			}
		}
	})
	fmt.Printf("%d days of the demonstration's club\n", days)
	show(os.Stdout, tallies)
}

// play lets people live through so many days, and looks at what they got.
func (p *played) play(t *testing.T, seed uint64, days int) *town {
	c, from := demoClub(t)
	clubs := []*scheduler.Club{c}
	if p.clubs != nil {
		clubs = p.clubs(c, from)
	}
	w := newTown(t, seed, from, p.habit, clubs...)
	if p.before != nil {
		p.before(w)
	}
	w.live(days)
	if os.Getenv("PRYDAY_SEASON_MAILS") != "" {
		w.describe(p.name)
	}
	w.keepsBudget()
	w.keepsIdentity()
	w.keepsToTheQuestion()
	w.keepsWeekly()
	w.keepsOrganisersTold()
	if p.most > 0 {
		w.keepsQuiet(p.most)
	}
	if p.after != nil {
		p.after(w)
	}
	return w
}

// holiday are the days of the story on which some are away.
var holiday = map[string]struct{ from, until scheduler.Date }{haldersby: {10, 40}, fennimoor: {60, 85}}

// holidays enters them.
func holidays(c *scheduler.Club, from scheduler.Date) []*scheduler.Club {
	for i := range c.Members {
		m := &c.Members[i]
		if h, ok := holiday[m.Email]; ok {
			m.NoGo = append(m.NoGo, scheduler.Period{From: from + h.from, Until: from + h.until, Reason: "away"})
		}
	}
	return []*scheduler.Club{c}
}

// leave has them look at no mail on those days.
func (w *town) leave() {
	for address, h := range holiday {
		w.people[address].away = []scheduler.Period{{From: w.today() + h.from, Until: w.today() + h.until}}
	}
}

// keepsHolidays: nobody is counted on for a visit of a day on which they are
// away, and a place that they keep alone has none.
func (w *town) keepsHolidays() {
	w.Helper()
	for address, h := range holiday {
		member := w.memberOf(w.clubs[0], address)
		for _, x := range w.ledger.lives {
			if x.promised && x.Status != scheduler.Cancelled && x.On >= w.ledger.from+h.from && x.On <= w.ledger.from+h.until && slices.Contains(x.Who, member) {
				w.Errorf("%s is away, and goes on a visit on %s", address, x.On)
			}
		}
	}
}

// keepsRefusals: who said that they cannot is not on the visit any more, and
// hears no more of it than that it is over.
func (w *town) keepsRefusals() {
	w.Helper()
	member, refused := w.memberOf(w.clubs[0], fennimoor), 0
	for _, x := range w.ledger.lives {
		if !slices.Contains(x.Refused, member) {
			continue
		}
		refused++
		if slices.Contains(x.Who, member) {
			w.Errorf("%s refused the visit of %s and is on it", fennimoor, x.On)
		}
	}
	if refused == 0 {
		w.Errorf("%s refused nothing", fennimoor)
	}
}

// memberOf returns the member of a club with an address.
func (w *town) memberOf(club int64, address string) (id int64) {
	w.in(club, func(ctx context.Context, tx *store.Tx) error {
		members, err := tx.Members(ctx)
		for _, m := range members {
			if m.Email == address {
				id = m.ID
			}
		}
		return err
	})
	return id
}

// twice is the same people in two clubs.
func twice(c *scheduler.Club, _ scheduler.Date) []*scheduler.Club {
	other := *c
	other.Name = "Hollow Lane Bees"
	other.Apiaries = nil
	for _, a := range c.Apiaries {
		a.Name = "Far " + a.Name
		var hives []scheduler.Hive
		for _, h := range a.Hives {
			var boxes []scheduler.Box
			for _, b := range h.Boxes {
				var openings []scheduler.Opening
				for _, o := range b.Openings {
					o.ID = again(o.ID)
					o.Supersedes = again(o.Supersedes)
					openings = append(openings, o)
				}
				b.Openings = openings
				boxes = append(boxes, b)
			}
			h.Boxes = boxes
			hives = append(hives, h)
		}
		a.Hives = hives
		other.Apiaries = append(other.Apiaries, a)
	}
	other.Visits = nil
	return []*scheduler.Club{c, &other}
}

// again is another identity that follows from one.
func again(id string) string {
	if id == "" {
		return ""
	}
	return uuid.NewSHA1(uuid.NameSpaceOID, []byte(id)).String()
}

// organisers are those of a club.
func (w *town) organisers(club int64) (ids []int64) {
	w.in(club, func(ctx context.Context, tx *store.Tx) error {
		members, err := tx.Members(ctx)
		for _, m := range members {
			if m.Role == scheduler.Organiser {
				ids = append(ids, m.ID)
			}
		}
		return err
	})
	return ids
}
