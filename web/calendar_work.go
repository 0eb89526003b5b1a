package web

import (
	"cmp"
	"slices"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// workMost is how many people's weeks are drawn, those with the fullest first.
const workMost = 12

// workView is what people have promised by week, against what they can give.
type workView struct {
	Weeks  []string // their days
	People []workRow
	Lacks  []lackCell // by week, what nobody goes to; nil where there is nothing
	More   int        // people who have promised something and are not shown
	Sunday bool       // weeks of the page begin on another day than those here
}

type workRow struct {
	Name    string
	Path    string // of the same month, of theirs alone
	Weeks   []workCell
	Idle    bool // nothing is promised in any of them
	fullest float64
}

// workCell is one week of one person; lengths of the bar are hundredths.
type workCell struct {
	Days   string
	Hours  text.Text
	Visits text.Text
	Bar    int // of what they can give
	Sign   string
	Class  string
	Says   text.Text // that the week is full, or too full
	None   bool      // nothing is promised
}

type lackCell struct {
	Days string
	Text text.Text // zero for nothing
}

// work adds up the weeks of which a day lies in a month; nil where nobody has
// promised anything.
func (rec *calendarRecords) work(first, last scheduler.Date) *workView {
	visits := make([]scheduler.Visit, len(rec.visits))
	work := make(map[int64]scheduler.Work, len(rec.visits))
	for i := range rec.visits {
		visits[i] = rec.visits[i].Visit
		work[visits[i].ID] = rec.visits[i].Work
	}
	all, lacks := scheduler.Weeks(rec.club, visits, func(v *scheduler.Visit) scheduler.Work { return work[v.ID] }, rec.today, first, last)
	v := &workView{Sunday: rec.say.FirstWeekday() != time.Monday}
	for _, l := range lacks {
		v.Weeks = append(v.Weeks, rec.daysFrom(l.Monday, 7))
	}
	there := rec.goersTo(rec.of.apiary)
	for weeks := range slices.Chunk(all, len(lacks)) {
		row := rec.workRow(weeks, first)
		switch id := weeks[0].MemberID; {
		case rec.of.person != 0 && id != rec.of.person:
		case rec.of.person == 0 && (row.Idle || rec.of.apiary != 0 && !slices.Contains(there, id)):
		default:
			v.People = append(v.People, row)
		}
	}
	slices.SortStableFunc(v.People, func(a, b workRow) int { return cmp.Compare(b.fullest, a.fullest) })
	v.More = max(len(v.People)-workMost, 0)
	v.People = v.People[:len(v.People)-v.More]
	if rec.of.person == 0 && rec.of.apiary == 0 {
		v.Lacks = rec.lackCells(lacks)
	}
	if len(v.People) == 0 && v.Lacks == nil {
		return nil
	}
	return v
}

// goersTo lists those who look after an apiary and those who are expected there.
func (rec *calendarRecords) goersTo(apiary int64) []int64 {
	a := rec.club.Apiary(apiary)
	if a == nil {
		return nil
	}
	out := slices.Clone(a.Keepers)
	for i := range rec.visits {
		if rec.visits[i].ApiaryID == apiary {
			out = append(out, rec.visits[i].Who...)
		}
	}
	return out
}

func (rec *calendarRecords) workRow(weeks []scheduler.Week, month scheduler.Date) workRow {
	of := rec.of
	of.person, of.chosen = weeks[0].MemberID, true
	row := workRow{Name: rec.names.Member(of.person), Path: of.path(monthPage, "month", month.Format(monthLayout))}
	row.Idle = true
	for i := range weeks {
		w := &weeks[i]
		row.Idle = row.Idle && w.Visits == 0
		decimals := 1
		if w.Visits == 0 {
			decimals = 0
		}
		cell := workCell{
			Days: rec.daysFrom(w.Monday, 7), None: w.Visits == 0,
			Hours: text.New("page.calendar.hours", text.Number{Value: w.Hours, Decimals: decimals}, text.Number{Value: w.Gives, Decimals: -1}), Visits: text.New("page.calendar.visits-of", w.Visits, w.Most),
		}
		share := 0.0
		switch {
		case w.Gives > 0:
			share = w.Hours / w.Gives
		case w.Hours > 0:
			share = 1
		}
		cell.Bar = min(int(100*share+0.5), 100)
		switch {
		case w.Over || share > 1.0001:
			cell.Class, cell.Sign, cell.Says = "over", "!", text.New("page.calendar.over")
		case w.Full() && w.Gives > 0:
			cell.Class, cell.Sign, cell.Says = "full", "=", text.New("page.calendar.full")
		case w.Gives == 0:
			cell.Class, cell.Says = "away", text.New("page.calendar.away")
		}
		row.fullest = max(row.fullest, share)
		row.Weeks = append(row.Weeks, cell)
	}
	return row
}

// lackCells say what nobody goes to; nil where that is nothing.
func (rec *calendarRecords) lackCells(lacks []scheduler.Lack) (out []lackCell) {
	some := false
	for _, l := range lacks {
		cell := lackCell{Days: rec.daysFrom(l.Monday, 7)}
		if l.Visits > 0 {
			some, cell.Text = true, text.New("page.calendar.lack", l.Visits, text.Number{Value: l.Hours, Decimals: 1})
		}
		out = append(out, cell)
	}
	if !some {
		return nil
	}
	return out
}
