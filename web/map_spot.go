package web

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/web/coordinates"
	"pryday/web/gazetteer"
)

// A small map in a form, to point at the very spot. Browsers send where in an
// image button somebody pointed, so it needs no script.
const (
	spotSize  = 300 // units and pixels, each way
	spotFirst = 16  // kilometres across at first
	spotLeast = 1
	spotMost  = 1024
	spotTowns = 12
)

// spotMap is the map in a form: what its picture is of, and where that is.
type spotMap struct {
	At, Source string
	Km, Size   int
}

// newSpotMap is a map around a place; signed-in members see their club's apiaries.
func newSpotMap(latitude, longitude float64, km int, member bool) *spotMap {
	m := &spotMap{At: coordinates.Point{Latitude: latitude, Longitude: longitude}.String(), Km: min(max(km, spotLeast), spotMost), Size: spotSize}
	path := "/places/near.svg"
	if member {
		path = "/map/near.svg"
	}
	m.Source = path + "?" + url.Values{"at": {m.At}, "km": {strconv.Itoa(m.Km)}}.Encode()
	return m
}

// spotKm is how many kilometres the map of a form is across, after the button
// for a nearer or a farther look.
func spotKm(f *form) int {
	km, err := strconv.Atoi(f.values.Get("map_km"))
	if err != nil {
		km = spotFirst
	}
	switch f.values.Get("map_step") {
	case "near":
		km /= 4
	case "far":
		km *= 4
	}
	return min(max(km, spotLeast), spotMost)
}

// pointedAt is the place that somebody pointed at.
func pointedAt(f *form) (coordinates.Point, bool) {
	x, e1 := strconv.Atoi(f.values.Get("spot.x"))
	y, e2 := strconv.Atoi(f.values.Get("spot.y"))
	middle, e3 := coordinates.Parse(f.values.Get("map_at"))
	if e1 != nil || e2 != nil || e3 != nil || x < 0 || y < 0 || x > spotSize || y > spotSize {
		return coordinates.Point{}, false
	}
	unit := float64(spotKm(f)) / spotSize
	lat, lon := projectionAround(middle.Latitude, middle.Longitude).place(float64(x-spotSize/2)*unit, float64(spotSize/2-y)*unit)
	return coordinates.Point{Latitude: lat, Longitude: lon}, true
}

// spotFor is the map of a form: around its coordinates, else the middle of the
// apiaries that are known; nil where neither is.
func spotFor(f *form, apiaries []scheduler.Apiary, member bool) *spotMap {
	lat, e1 := coordinates.Latitude(f.values.Get("latitude"))
	lon, e2 := coordinates.Longitude(f.values.Get("longitude"))
	switch {
	case e1 == nil && e2 == nil:
		return newSpotMap(lat, lon, spotKm(f), member)
	case len(apiaries) > 0:
		lat, lon = middleOf(apiaries)
		across := mapWide / frameOf(apiaries).unit
		if f.has("map_km") {
			across = float64(spotKm(f))
		}
		return newSpotMap(lat, lon, int(math.Ceil(across)), member)
	}
	return nil
}

func (s *Server) spotForMember(w http.ResponseWriter, r *http.Request, who *visitor) error {
	club, _, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	return s.drawSpot(w, r, club.Apiaries, speaker(club, who.MemberID))
}

func (s *Server) spotForStranger(w http.ResponseWriter, r *http.Request) error {
	return s.drawSpot(w, r, nil, stranger(r))
}

// drawSpot draws towns and apiaries around a place, with the place in the middle.
// A picture has none of a page's styles, so it brings its colours.
func (s *Server) drawSpot(w http.ResponseWriter, r *http.Request, apiaries []scheduler.Apiary, say *text.Speaker) error {
	middle, err := coordinates.Parse(r.FormValue("at"))
	km, bad := strconv.Atoi(r.FormValue("km"))
	if err != nil || bad != nil || km < spotLeast || km > spotMost {
		return newProblem(http.StatusBadRequest, "problem.unreadable")
	}
	g, err := gazetteer.Shipped()
	if err != nil {
		return err
	}
	f := frame{projection: projectionAround(middle.Latitude, middle.Longitude), wide: spotSize, height: spotSize, unit: spotSize / float64(km)}
	f.west, f.north = -float64(km)/2, float64(km)/2
	room := &mapRoom{wide: spotSize, high: spotSize}
	bar := f.bar()
	room.take(0, spotSize-26, bar.Length+74, spotSize)
	room.take(spotSize/2-12, spotSize/2-12, spotSize/2+12, spotSize/2+12)
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%[1]d" viewBox="0 0 %[1]d %[1]d" font-family="system-ui,sans-serif"><rect width="%[1]d" height="%[1]d" fill="#fffdf7"/>`, spotSize)
	for i := range apiaries {
		x, y := f.at(apiaries[i].Latitude, apiaries[i].Longitude)
		if !room.free(x-6, y-6, x+6, y+6) {
			continue
		}
		room.take(x-6, y-6, x+6, y+6)
		fmt.Fprintf(&out, `<circle cx="%.1f" cy="%.1f" r="5" fill="#2b594c"/>`, x, y)
		if l := room.label(x, y, apiaries[i].Name); l != nil {
			fmt.Fprintf(&out, `<text x="%g" y="%g" text-anchor="%s" font-size="13" font-weight="600" fill="#2a241b">%s</text>`, l.X, l.Y, l.Anchor, template.HTMLEscapeString(l.Text))
		}
	}
	towns, err := f.towns(g, room)
	if err != nil {
		return err
	}
	for _, t := range towns[:min(len(towns), spotTowns)] {
		fmt.Fprintf(&out, `<circle cx="%g" cy="%g" r="2.5" fill="#5f5442"/><text x="%g" y="%g" font-size="12" fill="#5f5442">%s</text>`, t.X, t.Y, t.X+6, t.Y+4, template.HTMLEscapeString(t.Name))
	}
	length := say.Say("page.map.kilometres", bar.Number)
	if bar.Metres {
		length = say.Say("page.map.metres", bar.Number)
	}
	fmt.Fprintf(&out, `<path d="M138 150h24M150 138v24" stroke="#8f2b10" stroke-width="2.5"/><circle cx="150" cy="150" r="7" fill="none" stroke="#8f2b10" stroke-width="2"/>`+
		`<path d="M10 285v5h%gv-5" fill="none" stroke="#5f5442" stroke-width="1.5"/><text x="%g" y="291" font-size="12" fill="#5f5442">%s</text></svg>`, bar.Length, bar.Length+16, template.HTMLEscapeString(length))
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "private, max-age=300")
	_, err = out.WriteTo(w)
	return err
}

// spotText is how a place that was pointed at stands in the field for it.
func spotText(p coordinates.Point, say *text.Speaker) string {
	return strings.Join([]string{angle(p.Latitude, say), angle(p.Longitude, say)}, "; ")
}
