package web

import (
	"maps"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/notebook"
	"pryday/web/coordinates"
)

// apiaryAsked is an apiary that the club does not have, with what was answered.
type apiaryAsked struct {
	Folded, Name, Chosen                 string
	Rows                                 int
	Latitude, Longitude, Elevation, Zone string
	Place                                placeChoice
	Others                               []notebook.Word // of the table, which this may be otherwise written
	Numbers                              bool            // there is something to see among them
	Problems                             map[string]text.Text
}

// freshApiary is chosen for an apiary that is to be made.
const freshApiary = "*new"

// likeApiary is chosen, with the other's name, for an apiary that the table writes in
// two ways.
const likeApiary = "*like:"

// mostOthers is among how many apiaries each may be any other; among more, those that
// begin alike.
const mostOthers, alikeRunes = 15, 3

// othersThan are the apiaries of a table that one of them may be, otherwise written.
func othersThan(all []notebook.Word, a notebook.Word) (out []notebook.Word) {
	begin := func(w notebook.Word) string {
		runes := []rune(w.Folded)
		return string(runes[:min(alikeRunes, len(runes))])
	}
	for _, w := range all {
		if w.Folded != a.Folded && (len(all) <= mostOthers || begin(w) == begin(a)) {
			out = append(out, w)
		}
	}
	return out
}

// placeParts are the fields that say where a new apiary is, by their names in the
// form of one place; here each ends in the apiary's name.
var placeParts = map[string]string{
	"place": "where", "placed": "placed", "look": "look", "pick": "pick",
	"latitude": "latitude", "longitude": "longitude", "elevation_m": "elevation_m", "timezone": "timezone",
}

func (b *bringing) apiaryAsked(a notebook.Word, zone string, problems map[string]text.Text) apiaryAsked {
	place := b.choices.Apiaries[a.Folded]
	out := apiaryAsked{Folded: a.Folded, Name: a.Shown, Rows: a.Rows, Chosen: place.Is, Zone: zone, Problems: map[string]text.Text{}}
	if place.Like != "" {
		out.Chosen = likeApiary + place.Like
	}
	if place.Answer != nil {
		out.Chosen = freshApiary
		out.Latitude, out.Longitude = place.Answer["latitude"], place.Answer["longitude"]
		out.Elevation, out.Zone = place.Answer["elevation_m"], place.Answer["timezone"]
		out.Place = placeChoice{Typed: place.Answer["place"], Placed: place.Answer["placed"]}
	}
	if found, ok := b.places[a.Folded]; ok {
		out.Place = found
	}
	for field, wrong := range problems {
		if rest, ok := strings.CutSuffix(field, ":"+a.Folded); ok {
			out.Problems[rest] = wrong
		}
	}
	for _, field := range []string{"latitude", "longitude", "elevation_m", "timezone"} {
		out.Numbers = out.Numbers || !out.Problems[field].IsZero()
	}
	out.Numbers = out.Numbers || out.Latitude != "" || out.Longitude != "" || out.Elevation != ""
	if out.Chosen == "" && len(b.club.Apiaries) == 0 {
		out.Chosen = freshApiary
	}
	return out
}

// answerApiary reads which apiary a name of the table is. A new one's place is taken
// in any form, as when an apiary is added: what is filled in is shown first.
func (b *bringing) answerApiary(f *form, a notebook.Word) error {
	var place notebook.Place
	got := f.values.Get("place:" + a.Folded)
	like, isLike := strings.CutPrefix(got, likeApiary)
	switch {
	case isLike && !looksFor(f, a) && slices.ContainsFunc(b.look().Asked.Apiaries, func(w notebook.Word) bool { return w.Folded == like && like != a.Folded }):
		place.Like = like
	case got == freshApiary, looksFor(f, a):
		part := &form{values: map[string][]string{}, Problems: map[string]text.Text{}}
		for field, here := range placeParts {
			part.values.Set(field, strings.TrimSpace(f.values.Get(here+":"+a.Folded)))
		}
		if err := b.readFresh(part, a, &place); err != nil {
			return err
		}
		for field, wrong := range part.Problems {
			f.Problems[placeParts[field]+":"+a.Folded] = wrong
		}
	case got == notebook.Refuse, b.hasApiary(got):
		place.Is = got
	default:
		f.bad("place:"+a.Folded, "page.bring-in.answer")
		return nil
	}
	if b.choices.Apiaries == nil {
		b.choices.Apiaries = map[string]notebook.Place{}
	}
	b.choices.Apiaries[a.Folded] = place
	return nil
}

// looksFor reports whether a form only asks where an apiary is.
func looksFor(f *form, a notebook.Word) bool {
	return f.has("look:"+a.Folded) || f.has("pick:"+a.Folded)
}

// near says beside what a new apiary is likely: those of the club, or of the table as
// far as their places were answered, or whoever answers.
func (b *bringing) near(a notebook.Word) string {
	if len(b.club.Apiaries) > 0 {
		return nearText(b.club.Apiaries)
	}
	for _, other := range b.look().Asked.Apiaries {
		if place := b.choices.Apiaries[other.Folded]; place.Fresh != nil && other.Folded != a.Folded {
			return nearText([]scheduler.Apiary{*place.Fresh})
		}
	}
	return b.around
}

// readFresh reads where a new apiary is.
func (b *bringing) readFresh(part *form, a notebook.Word, place *notebook.Place) error {
	choice, ask, err := readPlace(part, b.near(a), b.say)
	if err != nil {
		return err
	}
	if ask {
		if b.places == nil {
			b.places = map[string]placeChoice{}
		}
		b.places[a.Folded] = choice
		part.only("place")
	} else {
		fresh := scheduler.Apiary{
			Latitude: part.coordinate("latitude", coordinates.Latitude, 90), Longitude: part.coordinate("longitude", coordinates.Longitude, 180),
		}
		fresh.ElevationM = part.number("elevation_m", -430, 6000)
		fresh.Timezone = zone(part, "timezone", false)
		if part.ok() {
			place.Fresh = &fresh
		} else if !part.Problems["place"].IsZero() { // which says it all
			part.only("place")
		}
	}
	place.Answer = map[string]string{}
	for _, field := range []string{"latitude", "longitude", "elevation_m", "timezone"} {
		place.Answer[field] = part.values.Get(field)
	}
	maps.Copy(place.Answer, map[string]string{"place": choice.Typed, "placed": choice.Placed})
	return nil
}
