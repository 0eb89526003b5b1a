package web

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/web/gazetteer"
)

// Snyder 1987, Professional Paper 1395, the numerical example of the oblique spherical
// aspect (from memory): radius 3, around 40 N 100 W; 20 S 100 E lies at x -4.2339303, y 4.0257775.
func TestProjectionAgainstThePublishedExample(t *testing.T) {
	t.Parallel()
	p := projection{40 * radian, -100 * radian, 3}
	if x, y := p.xy(-20, 100); math.Abs(x+4.2339303) > 1e-6 || math.Abs(y-4.0257775) > 1e-6 {
		t.Errorf("%f %f", x, y)
	}
	if lat, lon := p.place(-4.2339303, 4.0257775); math.Abs(lat+20) > 1e-5 || math.Abs(lon-100) > 1e-5 {
		t.Errorf("back: %f %f", lat, lon)
	}
}

func TestProjectionThereAndBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.Float64Range(-89, 89).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")
		p := projectionAround(lat, lon)
		x, y := rapid.Float64Range(-3000, 3000).Draw(t, "x"), rapid.Float64Range(-3000, 3000).Draw(t, "y")
		x2, y2 := p.xy(p.place(x, y))
		if math.Hypot(x-x2, y-y2) > 1e-6 {
			t.Errorf("%f %f comes back as %f %f", x, y, x2, y2)
		}
		// Near the middle a kilometre is one (the haversine says so).
		east, north := p.place(1, 1)
		if km := gazetteer.Distance(lat, lon, east, north); math.Abs(km-math.Sqrt2) > 1e-6 {
			t.Errorf("a diagonal kilometre at %f is %f", lat, km)
		}
	})
}

// Wherever apiaries lie: dots and names stay in the frame and apart from one
// another, and the map has the true proportions.
func TestMapsOfAnyApiaries(t *testing.T) {
	t.Parallel()
	g, err := gazetteer.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.Float64Range(-70, 70).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")
		spread := rapid.SampledFrom([]float64{0, 0.001, 0.1, 2}).Draw(t, "spread")
		var all []scheduler.Apiary
		for i := range rapid.IntRange(1, 20).Draw(t, "n") {
			all = append(all, scheduler.Apiary{
				ID: int64(i + 1), Name: fmt.Sprintf("Stand %d", i), Latitude: lat + spread*rapid.Float64Range(-1, 1).Draw(t, "dlat"),
				Longitude: math.Remainder(lon+spread*rapid.Float64Range(-1, 1).Draw(t, "dlon"), 360),
			})
		}
		m, err := drawMap(all, g, func(*scheduler.Apiary) (mapState, string) { return mapStates[3], "fine" })
		if err != nil || len(m.Dots) != len(all) {
			t.Fatal(m, err)
		}
		for i, d := range m.Dots {
			if d.X < 0 || d.Y < 0 || d.X > float64(m.Width) || d.Y > float64(m.Height) {
				t.Errorf("dot %d lies at %g %g of %d x %d", i, d.X, d.Y, m.Width, m.Height)
			}
			for j := range i {
				if apart := math.Hypot(d.X-m.Dots[j].X, d.Y-m.Dots[j].Y); apart < mapApart-4 {
					t.Errorf("dots %d and %d are %.1f apart", i, j, apart)
				}
			}
		}
		if m.Bar.Length < 20 || m.Bar.Length > mapWide/3+.1 {
			t.Errorf("the scale is %g long for %d", m.Bar.Length, m.Bar.Number)
		}
		f := frameOf(all)
		x1, y1 := f.at(all[0].Latitude, all[0].Longitude)
		x2, y2 := f.at(all[len(all)-1].Latitude, all[len(all)-1].Longitude)
		km := gazetteer.Distance(all[0].Latitude, all[0].Longitude, all[len(all)-1].Latitude, all[len(all)-1].Longitude)
		if drawn := math.Hypot(x1-x2, y1-y2) / f.unit; math.Abs(drawn-km) > 0.01*km+1e-6 {
			t.Errorf("%f km are drawn as %f", km, drawn)
		}
	})
}

func TestMapPage(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	got := c.as("Brida").get("/map").says(200, "Map of apiaries", "How it stands", "Quarry", "km")
	for _, want := range []string{`href="/apiary/` + itoa(c.club().Apiaries[0].ID) + `"`, `aria-label="Quarry: `, `class="town"`} {
		got.holds(want)
	}
	c.as("Brida").get("/apiaries").holds(`href="/map"`)
	c.as("Brida").get("/").holds(`href="/map"`)
}

func BenchmarkDrawMap(b *testing.B) {
	g, err := gazetteer.Shipped()
	if err != nil {
		b.Fatal(err)
	}
	var all []scheduler.Apiary
	for i := range 300 {
		all = append(all, scheduler.Apiary{ID: int64(i), Name: fmt.Sprint("Stand ", i), Latitude: 48 + float64(i%17)/9, Longitude: 12 + float64(i%19)/7})
	}
	for b.Loop() {
		if _, err := drawMap(all, g, func(*scheduler.Apiary) (mapState, string) { return mapStates[3], "" }); err != nil {
			b.Fatal(err)
		}
	}
}
