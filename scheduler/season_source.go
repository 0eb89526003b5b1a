package scheduler

import (
	"fmt"
	"math"
	"strings"
)

// SeasonFrom says what the dates of a season rest on.
type SeasonFrom string

// What the dates of a season can rest on.
const (
	FromBands    SeasonFrom = "bands"     // the table of bands of latitude
	FromOwnDates SeasonFrom = "own-dates" // the club's own dates, at least for some stages
	FromTropics  SeasonFrom = "tropics"   // one stage all year: seasons follow rain there
)

// SeasonSource says where the dates of a season come from.
type SeasonSource struct {
	From      SeasonFrom
	Own       [NumStages]bool // stages whose start is the club's own date
	South     bool            // the table's dates with half a year added
	Latitude  float64         // degrees, of the place
	ShiftDays int             // the apiary's own shift, part of every date
	Moved     [NumStages]bool // starts moved so that every stage keeps its 14 days
}

// String says in words where the dates come from, for screens.
func (s SeasonSource) String() string {
	var b strings.Builder
	switch s.From {
	case FromTropics:
		return "Inside the tropics seasons follow rain, not latitude: one stage, flow, all year, unless the club enters its own dates."
	case FromOwnDates:
		var own []string
		for i, is := range s.Own {
			if is {
				own = append(own, Stage(i).String())
			}
		}
		if len(own) == NumStages {
			b.WriteString("The club's own dates")
		} else {
			fmt.Fprintf(&b, "The club's own dates for %s", strings.Join(own, ", "))
		}
		if s.Moved != [NumStages]bool{} {
			b.WriteString(", some moved on so that every stage lasts 14 days")
		}
	default:
		side := "north"
		if s.South {
			side = "south"
		}
		fmt.Fprintf(&b, "The table of bands of latitude at %.1f degrees %s, a guess: enter days you observed", math.Abs(s.Latitude), side)
	}
	switch {
	case s.ShiftDays > 0:
		fmt.Fprintf(&b, "; all %d days later here", s.ShiftDays)
	case s.ShiftDays < 0:
		fmt.Fprintf(&b, "; all %d days earlier here", -s.ShiftDays)
	}
	return b.String() + "."
}
