package scheduler

import (
	"cmp"
	"slices"

	"pryday/scheduler/text"
)

// OverloadDays is how far ahead people are told that nobody has time for a
// visit, in days: soon enough to find somebody.
const OverloadDays = 42

// Overload is what is too much for people in a third of a month.
type Overload struct {
	From   Date // the first day of the third
	Visits int  // to which nobody is asked to go
	Hours  float64
}

// LacksPeople reports whether v is still to come and nobody is asked to go,
// since those who could have promised all that they can give.
func (v *Visit) LacksPeople(today Date) bool {
	return v.NoTime && len(v.Who) == 0 && v.Status.Open() && v.On >= today
}

// Lacking is a visit that lacks people.
type Lacking struct {
	ApiaryID int64
	On       Date
	Work
}

// Overloads adds up, by thirds of months, what people lack for among some visits at
// apiaries of c, up to the OverloadDays from today on.
func Overloads(c *Club, visits []Lacking, today Date) []Overload {
	at := map[Date]*Overload{}
	for _, v := range visits {
		a := c.Apiary(v.ApiaryID)
		if a == nil || v.On < today || v.On > today+OverloadDays {
			continue
		}
		third := thirdOf(v.On)
		if at[third] == nil {
			at[third] = &Overload{From: third}
		}
		at[third].Visits++
		at[third].Hours += c.tripHours(a.ID) + v.Work.Hours(&c.Rules)
	}
	var out []Overload
	for _, o := range at {
		out = append(out, *o)
	}
	slices.SortFunc(out, func(a, b Overload) int { return cmp.Compare(a.From, b.From) })
	return out
}

// The days of a month on which its thirds begin.
const (
	middleDay = 11
	lateDay   = 21
)

func thirdOf(d Date) Date {
	_, _, day := d.Civil()
	switch {
	case day >= lateDay:
		return d - Date(day-lateDay)
	case day >= middleDay:
		return d - Date(day-middleDay)
	}
	return d - Date(day-1)
}

// Text says what is too much: "19 hours too many in late April: 7 visits need
// somebody".
func (o *Overload) Text() text.Text {
	key := "overload.early"
	switch _, _, day := o.From.Civil(); day {
	case middleDay:
		key = "overload.middle"
	case lateDay:
		key = "overload.late"
	}
	hours := max(int(o.Hours+0.5), 1)
	return text.New("overload.visits", o.Visits, text.New("overload.hours", hours), text.New(key, text.Month(o.From)))
}
