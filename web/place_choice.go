package web

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"pryday/scheduler/text"
	"pryday/web/coordinates"
	"pryday/web/gazetteer"
)

const (
	placesOffered = 10
	placesLooked  = 200   // of which those near by are offered first
	drivenKM      = 300.0 // how far from its other apiaries a club may have one
	groundNear    = 15.0  // kilometres within which a town's height is worth filling in
)

// placeChoice is the field that takes a place in any form, with what is known of
// what it says.
type placeChoice struct {
	Typed      string
	Placed     string // what the coordinates beside it were filled in from
	Candidates []placeOffer
	Filled     *filledPlace
	Map        *spotMap // to point at; nil without
	Near       string   // where the club is, roughly, for the script to ask with: see placesNear
	Wrong      text.Text
}

// placeOffer is one place to choose.
type placeOffer struct {
	ID           int
	Called, More string
	filledPlace
}

// filledPlace is what is filled in from a place, and says so.
type filledPlace struct {
	Latitude, Longitude, Elevation, Zone string
	Name                                 string // for the field
	Said                                 string
}

// readPlace looks at what a form says of where something is. It reports whether
// anything was filled in or has to be chosen: then the form is shown again, as
// nothing is saved that nobody saw.
//
// Of places of one name those that near tells of come first (placesNear).
func readPlace(f *form, near string, say *text.Speaker) (choice placeChoice, ask bool, err error) {
	g, err := gazetteer.Shipped()
	if err != nil {
		return choice, false, err
	}
	typed := f.text("place", 300)
	choice = placeChoice{Typed: typed, Placed: f.values.Get("placed"), Near: near}
	known := f.has("latitude") && f.has("longitude")
	if p, pointed := pointedAt(f); pointed {
		filled := filledAround(g, p, say)
		filled.Name = spotText(p, say)
		choice.fill(f, filled)
		return choice, true, nil
	}
	switch {
	case f.has("map_step"):
	case f.has("pick"):
		p, ok := g.Place(int(f.id("pick")))
		if !ok {
			f.bad("place", "form.no-place", cut(f.values.Get("pick")))
			return choice, true, nil
		}
		choice.fill(f, filledFrom(g, p, say))
	case typed != "" && typed != choice.Placed && (!known || choice.Placed != "" || f.has("look")):
		looked, wrong, err := lookUp(g, typed, choice.Near, say)
		if err != nil {
			return choice, false, err
		}
		choice.Candidates = looked.Candidates
		if !wrong.IsZero() {
			f.Problems["place"] = wrong
		}
		if looked.Filled != nil {
			choice.fill(f, *looked.Filled)
		}
	case known && f.has("look"): // at what is filled in already
	case !known:
		if !f.has("latitude") && !f.has("longitude") {
			f.bad("place", "form.place-empty")
		}
		return choice, false, nil
	case !f.has("elevation_m") || !f.has("timezone"):
		return choice, fillBeside(g, f, &choice, say), nil
	default:
		return choice, false, nil
	}
	return choice, true, nil
}

// fill puts what is known of a place into a form.
func (c *placeChoice) fill(f *form, p filledPlace) {
	f.values.Set("latitude", p.Latitude)
	f.values.Set("longitude", p.Longitude)
	for field, value := range map[string]string{"elevation_m": p.Elevation, "timezone": p.Zone} {
		f.values.Set(field, value)
	}
	if p.Name != "" {
		c.Typed = p.Name
	}
	c.Placed, c.Filled, c.Candidates = c.Typed, &p, nil
}

// fillBeside adds the height and the zone to typed coordinates.
func fillBeside(g *gazetteer.Gazetteer, f *form, c *placeChoice, say *text.Speaker) bool {
	lat, e1 := coordinates.Latitude(f.values.Get("latitude"))
	lon, e2 := coordinates.Longitude(f.values.Get("longitude"))
	if e1 != nil || e2 != nil {
		return false
	}
	p := filledAround(g, coordinates.Point{Latitude: lat, Longitude: lon}, say)
	filled := false
	for field, value := range map[string]string{"elevation_m": p.Elevation, "timezone": p.Zone} {
		if !f.has(field) && value != "" {
			f.values.Set(field, value)
			filled = true
		}
	}
	if filled {
		c.Filled = &p
	}
	return filled
}

// lookUp finds a place by coordinates or by name: what can be filled in, or
// what there is to choose from, or what is wrong.
func lookUp(g *gazetteer.Gazetteer, typed, near string, say *text.Speaker) (c placeChoice, wrong text.Text, err error) {
	point, err := coordinates.Parse(typed)
	if err == nil {
		p := filledAround(g, point, say)
		return placeChoice{Filled: &p}, wrong, nil
	}
	if !errors.Is(err, coordinates.ErrNone) {
		return c, wrongPlace(err, typed), nil
	}
	found, err := g.Find(typed, placesLooked, func(p gazetteer.Place, in string) bool { return liesIn(g, p, in) })
	if err != nil {
		return c, wrong, err
	}
	if len(found) == 0 {
		return c, text.New("form.no-place", cut(typed)), nil
	}
	placesNear(g, found, near)
	found = found[:min(len(found), placesOffered)]
	exact := 0
	for _, p := range found {
		if p.Exact {
			exact++
		}
	}
	if len(found) == 1 || exact == 1 && strings.Contains(typed, ",") {
		p := filledFrom(g, found[0].Place, say)
		return placeChoice{Filled: &p}, wrong, nil
	}
	c.Candidates = placeOffers(g, found, say)
	return c, wrong, nil
}

func wrongPlace(err error, typed string) text.Text {
	key := "form.place-unclear"
	switch {
	case errors.Is(err, coordinates.ErrLatitude):
		key = "form.place-latitude"
	case errors.Is(err, coordinates.ErrLongitude):
		key = "form.place-longitude"
	case errors.Is(err, coordinates.ErrSixty):
		key = "form.place-sixty"
	case errors.Is(err, coordinates.ErrSystem):
		key = "form.place-system"
	}
	return text.New(key, cut(typed))
}

// placeOffers tells places apart: by region and country, and where these are the
// same, by the next large town.
func placeOffers(g *gazetteer.Gazetteer, found []gazetteer.Found, say *text.Speaker) []placeOffer {
	times := map[string]int{}
	for _, p := range found {
		times[calledIn(g, p.Place, say)]++
	}
	var out []placeOffer
	for _, p := range found {
		line := placeOffer{ID: p.ID, Called: calledIn(g, p.Place, say), filledPlace: filledFrom(g, p.Place, say)}
		var more []string
		if !strings.HasPrefix(gazetteer.Fold(p.Name), gazetteer.Fold(p.Spelling)) {
			more = append(more, p.Spelling)
		}
		if times[line.Called] > 1 {
			if near := townNear(g, p.Place, say); near != "" {
				more = append(more, near)
			}
		}
		if p.Population > 0 {
			more = append(more, say.Say("page.place.people", say.Number(float64(p.Population), 0)))
		}
		line.More = strings.Join(more, " · ")
		out = append(out, line)
	}
	return out
}

func filledFrom(g *gazetteer.Gazetteer, p gazetteer.Place, say *text.Speaker) filledPlace {
	name := calledIn(g, p, say)
	return filledPlace{
		Latitude: angle(p.Latitude, say), Longitude: angle(p.Longitude, say), Elevation: strconv.Itoa(p.ElevationM), Zone: p.Zone,
		Name: name, Said: say.Say("page.place.filled-town", name),
	}
}

// filledAround is what is known of a point: its height where it came along, else
// that of the next town where there is one near, and that town's time zone.
func filledAround(g *gazetteer.Gazetteer, p coordinates.Point, say *text.Speaker) filledPlace {
	out := filledPlace{Latitude: angle(p.Latitude, say), Longitude: angle(p.Longitude, say)}
	town, km, ok := g.Nearest(p.Latitude, p.Longitude, 0)
	if p.Height != nil {
		out.Elevation = strconv.Itoa(int(math.Round(min(max(*p.Height, -430), 6000))))
	}
	if !ok {
		out.Said = say.Say("page.place.filled-alone")
		return out
	}
	out.Zone = town.Zone
	away := max(int(math.Round(km)), 1)
	switch {
	case p.Height != nil || km > groundNear:
		out.Said = say.Say("page.place.filled-zone", calledIn(g, town, say), away)
	default:
		out.Elevation = strconv.Itoa(town.ElevationM)
		out.Said = say.Say("page.place.filled-around", calledIn(g, town, say), away)
	}
	return out
}

// angle writes an angle to about ten metres.
func angle(v float64, say *text.Speaker) string { return say.Number(math.Round(v*1e4)/1e4, -1) }

// coordinate reads the field of one coordinate, in any form.
func (f *form) coordinate(field string, read func(string) (float64, error), most float64) float64 {
	s := strings.TrimSpace(f.values.Get(field))
	v, err := read(s)
	switch {
	case err == nil:
	case errors.Is(err, coordinates.ErrSixty):
		f.bad(field, "form.place-sixty", cut(s))
	default:
		f.bad(field, "form.not-a-number", cut(s), strconv.FormatFloat(-most, 'g', -1, 64), strconv.FormatFloat(most, 'g', -1, 64))
	}
	return v
}
