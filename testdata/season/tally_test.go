package season

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"pryday/scheduler"
)

// kinds are those that planning owes, in the order of the table.
var kinds = []scheduler.MessageKind{
	scheduler.DigestMessage, scheduler.DayMessage, scheduler.AskMessage, scheduler.MovedMessage, scheduler.OverdueMessage, scheduler.EscalateMessage,
}

// monthDays is how long a person's month is.
const monthDays = 30

// tally is what a season came to.
type tally struct {
	name         string
	people, days int
	kind         map[scheduler.MessageKind]int
	most         int    // mails to one person in any 30 days
	whom         string // that person, and the last of those days

	made, done, missed, open int // visits that people counted on, by what their day came to
	dropped, moved, put      int
	remade, returned         int
	weeks                    map[int64]int // by club: days on which an organiser got the weekly mail
}

func (l *ledger) tally(name string, people int) tally {
	t := tally{
		name: name, people: people, days: int(l.until-l.from) + 1, kind: map[scheduler.MessageKind]int{}, weeks: map[int64]int{},
		remade: len(l.remade), returned: len(l.returned),
	}
	weekly := map[string]bool{}
	for address, mails := range l.byPerson() {
		for i, m := range mails {
			t.kind[m.kind]++
			n := 0
			for _, o := range mails[:i+1] {
				if o.on > m.on-monthDays {
					n++
				}
			}
			if n > t.most || n == t.most && address < t.whom {
				t.most, t.whom = n, fmt.Sprint(address, " to ", m.on)
			}
			if week := fmt.Sprint(m.club, m.on); m.kind == scheduler.EscalateMessage && !weekly[week] {
				weekly[week] = true
				t.weeks[m.club]++
			}
		}
	}
	for _, x := range l.lives {
		t.moved, t.put = t.moved+x.moved, t.put+x.put
		switch {
		case x.dropped:
			t.dropped++
		case !x.promised || x.Status.Open() || x.Status == scheduler.Cancelled:
			continue
		}
		switch x.Status {
		case scheduler.Done:
			t.done++
		case scheduler.Missed:
			t.missed++
		case scheduler.Unanswered:
			t.open++
		}
	}
	t.made = t.done + t.missed + t.open
	return t
}

// byPerson sorts what arrived by whom it was sent to, in the order of days.
func (l *ledger) byPerson() map[string][]mailed {
	out := map[string][]mailed{}
	for _, m := range l.mails {
		if m.state == "sent" && slices.Contains(kinds, m.kind) {
			out[m.address] = append(out[m.address], m)
		}
	}
	return out
}

// show prints tallies, a row each.
func show(out io.Writer, tallies []tally) {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(w, "\tmails a person\tmost in\t\t\t\t\t\t\tvisits\t\t\t\tby\t\tcalled\tmade\tweekly\t\n")
	fmt.Fprint(w, "\tand month\t30 days\tdigest\tday\task\tmoved\toverdue\tweekly\tmade\tdone\tmissed\tmoved\tpeople\toff\tagain\tagain\tmails\t\n")
	for _, t := range tallies {
		if t.name == "" {
			continue // not played
		}
		all := 0
		for _, k := range kinds {
			all += t.kind[k]
		}
		fmt.Fprintf(w, "%s\t%.1f\t%d\t", t.name, float64(all)/float64(t.people)/(float64(t.days)/monthDays), t.most)
		for _, k := range kinds {
			fmt.Fprintf(w, "%d\t", t.kind[k])
		}
		weeks := 0
		for _, n := range t.weeks {
			weeks += n
		}
		fmt.Fprintf(w, "%d\t%d\t%d\t%d\t%d\t%d\t%d\t%d\t%d\t\n", t.made, t.done, t.missed, t.moved, t.put, t.dropped, t.returned, t.remade, weeks)
	}
	w.Flush()
}
