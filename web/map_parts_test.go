package web

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/web/gazetteer"
)

// plainMap draws apiaries that are all fine.
func plainMap(t *testing.T, all []scheduler.Apiary) *apiaryMap {
	t.Helper()
	g, err := gazetteer.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	m, err := drawMap(all, g, func(*scheduler.Apiary) (mapState, string) { return mapStates[3], "fine" })
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestMapDirections: north is up and east is right, on both sides of the equator.
func TestMapDirections(t *testing.T) {
	t.Parallel()
	for _, middle := range [][2]float64{{48, 11}, {-37, 145}, {1, 179.9}} {
		m := plainMap(t, []scheduler.Apiary{
			{ID: 1, Name: "North", Latitude: middle[0] + .2, Longitude: middle[1]},
			{ID: 2, Name: "South", Latitude: middle[0] - .2, Longitude: middle[1]},
			{ID: 3, Name: "East", Latitude: middle[0], Longitude: math.Remainder(middle[1]+.2, 360)},
			{ID: 4, Name: "West", Latitude: middle[0], Longitude: middle[1] - .2},
		})
		north, south, east, west := m.Dots[0], m.Dots[1], m.Dots[2], m.Dots[3]
		if north.Y >= south.Y || west.X >= east.X {
			t.Errorf("around %v north lies at %g, south at %g from the top; west at %g, east at %g from the left", middle, north.Y, south.Y, west.X, east.X)
		}
		// As far from the frame on one side as on the other.
		if top, bottom := north.TrueY, float64(m.Height)-south.TrueY; math.Abs(top-bottom) > 2 {
			t.Errorf("around %v it is %g from the top and %g from the bottom", middle, top, bottom)
		}
		if left, right := west.TrueX, float64(m.Width)-east.TrueX; math.Abs(left-right) > 2 {
			t.Errorf("around %v it is %g from the left and %g from the right", middle, left, right)
		}
	}
}

// TestMapScale: the bar is as long as the distance that it names.
func TestMapScale(t *testing.T) {
	t.Parallel()
	for _, spread := range []float64{0.001, 0.05, 0.4, 3} {
		all := []scheduler.Apiary{{ID: 1, Name: "A", Latitude: 48, Longitude: 11}, {ID: 2, Name: "B", Latitude: 48 + spread, Longitude: 11}}
		m := plainMap(t, all)
		km := float64(m.Bar.Number)
		if m.Bar.Metres {
			km /= 1000
		}
		unit := math.Abs(m.Dots[0].TrueY-m.Dots[1].TrueY) / gazetteer.Distance(48, 11, 48+spread, 11)
		if want := km * unit; unit > 1 && math.Abs(m.Bar.Length-want) > 0.05*want {
			t.Errorf("%g degrees apart: %g km are %g long, want %.1f", spread, km, m.Bar.Length, want)
		}
	}
}

// TestMapCrowd: of many apiaries at one spot each has a dot with a line to where it is,
// and those without room for a name are counted.
func TestMapCrowd(t *testing.T) {
	t.Parallel()
	var all []scheduler.Apiary
	for i := range 60 {
		all = append(all, scheduler.Apiary{ID: int64(i + 1), Name: fmt.Sprintf("A rather long name %d", i), Latitude: 48, Longitude: 11})
	}
	m := plainMap(t, all)
	moved, unnamed := 0, 0
	for _, d := range m.Dots {
		if d.Moved {
			moved++
		}
		if d.Label == nil {
			unnamed++
		}
	}
	if moved < len(all)-5 || unnamed == 0 || m.Unnamed != unnamed {
		t.Errorf("of %d at one spot %d say where they are; %d have no name, it says %d", len(all), moved, unnamed, m.Unnamed)
	}
	if two := plainMap(t, all[:2]).Dots; !two[0].Moved || !two[1].Moved {
		t.Errorf("two at one spot: %+v", two)
	}
	if apart := plainMap(t, []scheduler.Apiary{all[0], {ID: 99, Name: "Far", Latitude: 48, Longitude: 12}}).Dots; apart[0].Moved || apart[1].Moved {
		t.Errorf("two far from one another: %+v", apart)
	}
}

// TestMapNamesWhatIsPressing: where there is room for one name it is that of what is late.
func TestMapNamesWhatIsPressing(t *testing.T) {
	t.Parallel()
	for late := range 2 {
		m := &apiaryMap{Dots: []mapDot{{X: 30, Y: 15, Name: "First", State: mapStates[3]}, {X: 30, Y: 15, Name: "Second", State: mapStates[3]}}}
		m.Dots[late].State = mapStates[0]
		m.name(&mapRoom{wide: 100, high: 30})
		if m.Dots[late].Label == nil || m.Dots[1-late].Label != nil || m.Unnamed != 1 {
			t.Errorf("of two the %d. is late: %+v", late+1, m.Dots)
		}
	}
}

// TestMapSays: a disease order goes before overdue boxes, these before a visit that
// nobody goes to soon, and that before one of the coming week.
func TestMapSays(t *testing.T) {
	t.Parallel()
	order := scheduler.Apiary{ID: 1, Standstill: []scheduler.Period{{From: today - 3, Until: today + 3}}}
	ended := scheduler.Apiary{ID: 1, Standstill: []scheduler.Period{{From: today - 9, Until: today - 1}}}
	visit := func(on scheduler.Date, who ...int64) []store.VisitRecord {
		return []store.VisitRecord{{Visit: scheduler.Visit{ApiaryID: 1, On: on, Status: scheduler.Confirmed, Who: who}}}
	}
	for name, tt := range map[string]struct {
		apiary scheduler.Apiary
		counts []store.ApiaryCount
		visits []store.VisitRecord
		want   string
	}{
		"nothing":                        {scheduler.Apiary{ID: 1}, nil, nil, "fine"},
		"an order, and overdue":          {order, []store.ApiaryCount{{ID: 1, Overdue: 2}}, nil, "still"},
		"an order that is over":          {ended, nil, nil, "fine"},
		"one box is overdue":             {scheduler.Apiary{ID: 1}, []store.ApiaryCount{{ID: 1, Overdue: 1}}, visit(today + 90), "due"},
		"another's is overdue":           {scheduler.Apiary{ID: 1}, []store.ApiaryCount{{ID: 2, Overdue: 1}, {ID: 1}}, nil, "fine"},
		"nobody goes, soon":              {scheduler.Apiary{ID: 1}, nil, visit(today + mapSoon), "nobody"},
		"nobody goes, later":             {scheduler.Apiary{ID: 1}, nil, visit(today + mapSoon + 1), "fine"},
		"somebody goes this week":        {scheduler.Apiary{ID: 1}, nil, visit(today+mapThisWeek, 3), "due"},
		"somebody goes the week after":   {scheduler.Apiary{ID: 1}, nil, visit(today+mapThisWeek+1, 3), "fine"},
		"nobody goes, and it is overdue": {scheduler.Apiary{ID: 1}, []store.ApiaryCount{{ID: 1, Overdue: 1}}, visit(today + 3), "due"},
	} {
		p := &apiaryRecords{club: &scheduler.Club{}, say: text.In("en", text.Millimetres), today: today}
		row := p.mapRow(&tt.apiary, tt.counts, tt.visits)
		if row.State.Class != tt.want || row.Says == "" {
			t.Errorf("%s: %s, %q, want %s", name, row.State.Class, row.Says, tt.want)
		}
	}
}

// TestSpotScale: the farther the map looks, the farther a tap lies.
func TestSpotScale(t *testing.T) {
	t.Parallel()
	for _, km := range []string{"1", "16", "64", "1024"} {
		f := &form{values: fields("spot.x", "300", "spot.y", "150", "map_at", "48, 11", "map_km", km)}
		p, ok := pointedAt(f)
		want := map[string]float64{"1": .5, "16": 8, "64": 32, "1024": 512}[km]
		if got := gazetteer.Distance(48, 11, p.Latitude, p.Longitude); !ok || math.Abs(got-want) > want/200 || p.Longitude < 11 {
			t.Errorf("the right edge of %s km is %.2f km away, want %g", km, got, want)
		}
	}
}

// TestSpotShowsStrangersNoApiaries: members see where those of their club lie.
func TestSpotShowsStrangersNoApiaries(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	a := c.club().Apiaries[0]
	at := fmt.Sprintf("?at=%g,%g&km=16", a.Latitude, a.Longitude+.03)
	const dot = `r="5" fill="#2b594c"`
	member := c.as("Brida").get("/map/near.svg" + at).says(200)
	if !strings.Contains(member.body, dot) || !strings.Contains(member.body, a.Name) {
		t.Errorf("a member does not see %s", a.Name)
	}
	for _, at := range []string{at, "?at=0,0.03&km=16"} { // there, or where one without coordinates would be
		if strings.Contains(c.stranger().get("/places/near.svg"+at).says(200).body, dot) {
			t.Errorf("a stranger sees an apiary at %s", at)
		}
	}
}
