package scheduler

import (
	"math"

	"pryday/scheduler/text"
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
	South     bool            // south of the equator
	Region    Region          // whose table it is
	Latitude  float64         // degrees, of the place
	ShiftDays int             // the apiary's own shift, part of every date
	Moved     [NumStages]bool // starts moved so that every stage keeps its 14 days
}

// Text says where the dates come from, without a full stop.
func (s SeasonSource) Text() text.Text {
	var says text.Text
	switch s.From {
	case FromTropics:
		return text.New("season.tropics")
	case FromOwnDates:
		says = s.ownText()
	default:
		key := "season.bands-north"
		if s.South {
			key = "season.bands-south"
		}
		says = text.New(key, text.Number{Value: math.Abs(s.Latitude), Decimals: 1}, s.Region)
	}
	switch {
	case s.ShiftDays > 0:
		return text.New("season.later", s.ShiftDays, says)
	case s.ShiftDays < 0:
		return text.New("season.earlier", -s.ShiftDays, says)
	}
	return says
}

func (s SeasonSource) ownText() text.Text {
	var own []text.Text
	for i, is := range s.Own {
		if is {
			own = append(own, text.New(Stage(i).WordKey()))
		}
	}
	says := text.New("season.own")
	if len(own) < NumStages {
		says = text.New("season.own-for", own)
	}
	if s.Moved != [NumStages]bool{} {
		says = text.New("season.moved-on", says)
	}
	return says
}
