package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/web/gazetteer"
)

// A map's drawing, in its own units: on a phone about a pixel each.
const (
	mapWide    = 360.0
	mapEdge    = 34.0 // room between the outer places and the frame
	mapLeast   = 4.0  // kilometres across, at least
	mapApart   = 26.0 // between two dots, so that a finger meets one
	mapMoved   = 5.0  // from its true place on, a dot gets a line to it
	mapTowns   = 14
	mapLetter  = 8.2 // width of a letter, wide ones too
	mapLine    = 15.0
	mapPasses  = 80
	mapHighest = 420.0
	mapLowest  = 260.0
)

// apiaryMap is a drawn map of a club's apiaries.
type apiaryMap struct {
	Width, Height int
	Dots          []mapDot
	Towns         []mapTown
	Bar           mapBar
	Unnamed       int // dots without room for a name
}

type mapDot struct {
	ID           int64
	X, Y         float64 // of the dot
	TrueX, TrueY float64 // of its place
	Moved        bool
	Label        *mapLabel // nil without room
	State        mapState
	Name, Says   string
}

// mapLabel is a name at a dot, with a line where it is not beside it.
type mapLabel struct {
	X, Y   float64
	Anchor string
	Text   string
	Led    bool
}

type mapTown struct {
	X, Y float64
	Name string
}

// mapBar is the scale: so many kilometres, or metres, are as long as this.
type mapBar struct {
	Length float64
	Number int
	Metres bool
}

// frame holds what a drawing is of: kilometres to units.
type frame struct {
	projection
	west, north  float64 // kilometres from the projection's point
	unit         float64 // units for a kilometre
	wide, height float64
}

func (f frame) at(latitude, longitude float64) (x, y float64) {
	east, north := f.xy(latitude, longitude)
	return (east - f.west) * f.unit, (f.north - north) * f.unit
}

// frameOf puts all apiaries into one frame, in true proportions.
func frameOf(apiaries []scheduler.Apiary) frame {
	f := frame{projection: projectionAround(middleOf(apiaries)), wide: mapWide}
	west, south, east, north := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for i := range apiaries {
		x, y := f.xy(apiaries[i].Latitude, apiaries[i].Longitude)
		west, east, south, north = min(west, x), max(east, x), min(south, y), max(north, y)
	}
	across, up := max(east-west, mapLeast), max(north-south, mapLeast)
	f.height = min(max((mapWide-2*mapEdge)*up/across+2*mapEdge, mapLowest), mapHighest)
	f.unit = min((mapWide-2*mapEdge)/across, (f.height-2*mapEdge)/up)
	f.west = (west+east)/2 - mapWide/2/f.unit
	f.north = (south+north)/2 + f.height/2/f.unit
	return f
}

// drawMap draws apiaries with their states and names, and the larger towns around.
func drawMap(apiaries []scheduler.Apiary, g *gazetteer.Gazetteer, describe func(*scheduler.Apiary) (mapState, string)) (*apiaryMap, error) {
	f := frameOf(apiaries)
	m := &apiaryMap{Width: int(f.wide), Height: int(f.height), Bar: f.bar()}
	for i := range apiaries {
		a := &apiaries[i]
		x, y := f.at(a.Latitude, a.Longitude)
		d := mapDot{ID: a.ID, X: x, Y: y, TrueX: x, TrueY: y, Name: a.Name}
		d.State, d.Says = describe(a)
		m.Dots = append(m.Dots, d)
	}
	m.openOut()
	room := &mapRoom{wide: f.wide, high: f.height}
	room.take(f.wide-24, 0, f.wide, 34)                  // the north
	room.take(0, f.height-26, m.Bar.Length+74, f.height) // the scale
	for i := range m.Dots {
		room.take(m.Dots[i].X-11, m.Dots[i].Y-11, m.Dots[i].X+11, m.Dots[i].Y+11)
	}
	m.name(room)
	var err error
	m.Towns, err = f.towns(g, room)
	return m, err
}

// openOut moves dots that lie on one another apart, each as little as it takes.
func (m *apiaryMap) openOut() {
	high, wide := float64(m.Height), float64(m.Width)
	for range mapPasses {
		still := true
		for i := range m.Dots {
			for j := range i {
				a, b := &m.Dots[i], &m.Dots[j]
				dx, dy := a.X-b.X, a.Y-b.Y
				apart := math.Hypot(dx, dy)
				if apart >= mapApart {
					continue
				}
				if apart < 0.01 { // on one spot: each its own way
					dy, dx = math.Sincos(2.4 * float64(i+j))
					apart = 1
				}
				push := (mapApart - min(apart, mapApart) + 0.2) / 2
				a.X, a.Y, b.X, b.Y = a.X+dx/apart*push, a.Y+dy/apart*push, b.X-dx/apart*push, b.Y-dy/apart*push
				still = false
			}
		}
		for i := range m.Dots {
			d := &m.Dots[i]
			d.X, d.Y = min(max(d.X, 14), wide-14), min(max(d.Y, 14), high-40)
		}
		if still {
			break
		}
	}
	for i := range m.Dots {
		d := &m.Dots[i]
		d.Moved = math.Hypot(d.X-d.TrueX, d.Y-d.TrueY) > mapMoved
		d.X, d.Y, d.TrueX, d.TrueY = tenth(d.X), tenth(d.Y), tenth(d.TrueX), tenth(d.TrueY)
	}
}

// name finds room for the names, those with something to do first.
func (m *apiaryMap) name(room *mapRoom) {
	order := make([]int, len(m.Dots))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(m.Dots[a].State.rank, m.Dots[b].State.rank) })
	for _, i := range order {
		d := &m.Dots[i]
		if d.Label = room.label(d.X, d.Y, d.Name); d.Label == nil {
			m.Unnamed++
		}
	}
}

// towns are the largest in the frame that there is room for.
func (f frame) towns(g *gazetteer.Gazetteer, room *mapRoom) ([]mapTown, error) {
	south, west, north, east := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, x := range []float64{0, f.wide / 2, f.wide} {
		for _, y := range []float64{0, f.height / 2, f.height} {
			lat, lon := f.place(f.west+x/f.unit, f.north-y/f.unit)
			lon = f.lon/radian + math.Remainder(lon-f.lon/radian, 360)
			south, north, west, east = min(south, lat), max(north, lat), min(west, lon), max(east, lon)
		}
	}
	people := 0
	for across := (north - south) * 111; across > 60 && people < 1_000_000; across /= 2 { // of a larger frame few are shown
		people = max(2*people, 4000)
	}
	found, err := g.Within(south, west, north, east, people, 8*mapTowns)
	if err != nil {
		return nil, err
	}
	var out []mapTown
	for _, p := range found {
		x, y := f.at(p.Latitude, p.Longitude)
		wide := mapLetter * 0.85 * float64(utf8.RuneCountInString(p.Name))
		if x < 4 || y < 12 || x+wide+8 > f.wide || y > f.height-6 || !room.free(x-4, y-8, x+wide+8, y+6) {
			continue
		}
		room.take(x-4, y-8, x+wide+8, y+6)
		if out = append(out, mapTown{tenth(x), tenth(y), p.Name}); len(out) == mapTowns {
			break
		}
	}
	return out, nil
}

// bar is the longest of 1, 2 and 5 times a power of ten that fits a third of the
// width.
func (f frame) bar() mapBar {
	best := mapBar{}
	for _, metres := range []int{100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000, 200_000, 500_000, 1_000_000, 2_000_000, 5_000_000} {
		if length := float64(metres) / 1000 * f.unit; length <= f.wide/3 {
			best = mapBar{tenth(length), metres / 1000, false}
			if metres < 1000 {
				best.Number, best.Metres = metres, true
			}
		}
	}
	return best
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

// mapRoom knows which rectangles are taken.
type mapRoom struct {
	wide, high float64
	taken      [][4]float64
}

func (r *mapRoom) take(x1, y1, x2, y2 float64) {
	r.taken = append(r.taken, [4]float64{x1, y1, x2, y2})
}

func (r *mapRoom) free(x1, y1, x2, y2 float64) bool {
	if x1 < 0 || y1 < 0 || x2 > r.wide || y2 > r.high {
		return false
	}
	return !slices.ContainsFunc(r.taken, func(t [4]float64) bool { return x1 < t[2] && t[0] < x2 && y1 < t[3] && t[1] < y2 })
}

// label finds the nearest free place for a name around a dot; nil where there
// is none.
func (r *mapRoom) label(x, y float64, name string) *mapLabel {
	text := name
	if runes := []rune(name); len(runes) > 22 {
		text = strings.TrimSpace(string(runes[:21])) + "…"
	}
	wide := mapLetter * float64(utf8.RuneCountInString(text))
	for _, away := range []float64{13, 24, 38, 54, 72} {
		for _, way := range [][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {.7, .7}, {.7, -.7}, {-.7, .7}, {-.7, -.7}} {
			lx, ly := x+way[0]*away, y+way[1]*(away+4)
			left, anchor := lx, "start"
			switch {
			case way[0] < 0:
				left, anchor = lx-wide, "end"
			case way[0] == 0:
				left, anchor = lx-wide/2, "middle"
			}
			if !r.free(left, ly-mapLine/2, left+wide, ly+mapLine/2) {
				continue
			}
			r.take(left, ly-mapLine/2, left+wide, ly+mapLine/2)
			return &mapLabel{tenth(lx), tenth(ly + 4.5), anchor, text, away > 13}
		}
	}
	return nil
}

// BarY and NorthX are where the scale and the arrow to the north stand.
func (m *apiaryMap) BarY() int   { return m.Height - 10 }
func (m *apiaryMap) NorthX() int { return m.Width - 12 }

// At places the group of a dot.
func (d mapDot) At() string { return fmt.Sprintf("translate(%g %g)", d.X, d.Y) }
