package gazetteer

import (
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

func shippedFor(t testing.TB) *Gazetteer {
	t.Helper()
	g, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func find(t *testing.T, typed string, most int) []Found {
	t.Helper()
	found, err := shippedFor(t).Find(typed, most, func(p Place, folded string) bool {
		return Fold(p.Region) == folded || Fold(p.Country) == folded
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// Coordinates and elevations as others publish them, not GeoNames; the sources were
// not at hand, so they are from memory, and a town's middle is not its weather station.
func TestPlacesLieWhereOthersSay(t *testing.T) {
	t.Parallel()
	for _, want := range []struct {
		typed         string
		lat, lon      float64
		low, high     int // metres
		zone, country string
		source        string
	}{
		{"Guelph", 43.55, -80.25, 310, 350, "America/Toronto", "CA", "University of Guelph, Arboretum: 43.55 N, 335 m"},
		{"Wien", 48.21, 16.37, 150, 210, "Europe/Vienna", "AT", "Hohe Warte, Vienna: 198 m (GeoSphere Austria)"},
		{"Zürich", 47.37, 8.54, 390, 450, "Europe/Zurich", "CH", "Lake Zurich 406 m (Federal Office of Topography)"},
		{"Quito", -0.22, -78.51, 2700, 2950, "America/Guayaquil", "EC", "2,850 m (almanacs)"},
		{"Hobart", -42.88, 147.33, 0, 80, "Australia/Hobart", "AU", "sea port"},
		{"Kathmandu", 27.71, 85.32, 1250, 1400, "Asia/Kathmandu", "NP", "1,337 m, airport (ICAO)"},
		{"Reykjavík", 64.14, -21.93, 0, 60, "Atlantic/Reykjavik", "IS", "52 m (Icelandic Met Office)"},
		{"Denver", 39.74, -104.98, 1580, 1640, "America/Denver", "US", "the mile-high step of its capitol: 1,609 m"},
		{"Davos", 46.80, 9.83, 1500, 1620, "Europe/Zurich", "CH", "MeteoSwiss 1,594 m"},
	} {
		found := find(t, want.typed, 1)
		if len(found) == 0 {
			t.Errorf("no %s", want.typed)
			continue
		}
		p := found[0]
		if Distance(p.Latitude, p.Longitude, want.lat, want.lon) > 5 || p.ElevationM < want.low || p.ElevationM > want.high || p.Zone != want.zone || p.Country != want.country {
			t.Errorf("%s is %+v, against %s", want.typed, p.Place, want.source)
		}
	}
}

func TestCommonSpellingsFindThePlace(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{
		"münchen": "Munich", "Muenchen": "Munich", "Munchen": "Munich", "MUNICH": "Munich", "Mailand": "Milan", "milano": "Milan",
		"Prag": "Prague", "Praha": "Prague", "Kopenhagen": "Copenhagen", "København": "Copenhagen", "Kobenhavn": "Copenhagen", "Lüttich": "Liège", "liege": "Liège",
		"Danzig": "Gdańsk", "gdansk": "Gdańsk", "Breslau": "Wrocław", "St. Gallen": "Sankt Gallen", "St Gallen": "Sankt Gallen",
		"Sterzing": "Vipiteno", "Laibach": "Ljubljana", "Goettingen": "Göttingen", "Göttingen": "Göttingen", "Gottingen": "Göttingen", "Gießen": "Gießen", "giessen": "Gießen",
		"Saint John's": "St. John's", "Frankfurt Oder": "Frankfurt (Oder)", "Łódź": "Łódź", "lodz": "Łódź",
	} {
		found := find(t, typed, 3)
		if len(found) == 0 || found[0].Name != want {
			t.Errorf("%s finds %v, want %s", typed, found, want)
		}
	}
}

func TestOneNameOfSeveral(t *testing.T) {
	t.Parallel()
	all := find(t, "Springfield", 100)
	exact := 0
	for _, f := range all {
		if f.Exact {
			exact++
		}
	}
	if exact < 20 {
		t.Errorf("%d places are called Springfield", exact)
	}
	for _, typed := range []string{"Springfield, Illinois", "springfield illinois", "Springfield ,ILLINOIS"} {
		found := find(t, typed, 3)
		if len(found) == 0 || found[0].RegionCode != "US.IL" {
			t.Errorf("%s finds %v", typed, found)
		}
	}
	if found := find(t, "Springfield, Bavaria", 3); len(found) > 0 {
		t.Errorf("Springfield in Bavaria is %v", found)
	}
}

func TestWhatFindsNothing(t *testing.T) {
	t.Parallel()
	for _, typed := range []string{"", " ", ",", "x", "…", "Qqqqqq", strings.Repeat("a", 500), "\xff\xfe", "Neustadt\x00"} {
		if found := find(t, typed, 5); len(found) > 0 && typed != "Neustadt\x00" {
			t.Errorf("%q finds %v", typed, found)
		}
	}
}

// Every block can be read, its places lie within its bounds and its zones are
// zones; every place is found by its own name.
func TestTheWholeFile(t *testing.T) {
	t.Parallel()
	g := shippedFor(t)
	places := 0
	zones := map[string]bool{}
	for i, b := range g.head.Places {
		block, err := g.places(i)
		if err != nil {
			t.Fatal(err)
		}
		for k := range block.names {
			p := g.place(block, i*PlacesInBlock+k)
			places++
			zones[p.Zone] = true
			if p.Name == "" || len(p.Country) != 2 || math.Abs(p.Latitude) > 90 || math.Abs(p.Longitude) > 180 || p.ElevationM < -430 || p.ElevationM > 6000 {
				t.Errorf("%+v", p)
			}
			if lat := block.latitude[k]; lat < b.South || lat > b.North {
				t.Errorf("%s lies outside its block", p.Name)
			}
		}
	}
	for zone := range zones {
		if _, err := time.LoadLocation(zone); err != nil {
			t.Errorf("zone %q: %v", zone, err)
		}
	}
	spellings, last := 0, ""
	for i, b := range g.head.Spellings {
		block, err := g.spellings(i)
		if err != nil {
			t.Fatal(err)
		}
		if Fold(block[0].text) != b.First {
			t.Errorf("block %d begins with %q, not %q", i, block[0].text, b.First)
		}
		for _, s := range block {
			folded := Fold(s.text)
			if folded < last || s.place >= places {
				t.Errorf("%q of place %d follows %q", s.text, s.place, last)
			}
			last, spellings = folded, spellings+1
		}
	}
	if s := g.Source(); s.Places != places || s.Spellings != spellings || s.Licence != "CC-BY-4.0" || len(s.Packages) != 2 {
		t.Errorf("%+v, and there are %d places and %d spellings", s, places, spellings)
	}
	for _, name := range []string{"Guelph", "Neustadt an der Donau", "Łask"} {
		if !slices.ContainsFunc(find(t, name, 5), func(f Found) bool { return f.Name == name }) {
			t.Errorf("no %s", name)
		}
	}
}

func TestTheFileSaysWhoseItIs(t *testing.T) {
	t.Parallel()
	about, err := os.ReadFile("places.txt")
	if err != nil {
		t.Fatal(err)
	}
	s := shippedFor(t).Source()
	for _, want := range []string{s.Name, s.URL, s.LicenceURL} {
		if !strings.Contains(string(about), want) {
			t.Errorf("places.txt does not say %s", want)
		}
	}
	for _, p := range s.Packages {
		name, _, _ := strings.Cut(strings.TrimPrefix(p, "npm "), ",")
		if !strings.Contains(strings.ReplaceAll(string(about), "\n", " "), "npm package "+name) {
			t.Errorf("places.txt does not name the package %s", name)
		}
	}
}

func TestNearest(t *testing.T) {
	t.Parallel()
	g := shippedFor(t)
	for _, want := range []struct {
		lat, lon float64
		people   int
		name     string
	}{
		{43.546, -80.256, 0, "Guelph"},
		{48.2, 16.37, 100_000, "Vienna"},
		{-16.5, 180, 0, "Labasa"}, // across the date line
		{69.0, 33.0, 100_000, "Murmansk"},
	} {
		p, km, ok := g.Nearest(want.lat, want.lon, want.people)
		if !ok || p.Name != want.name || math.Abs(km-Distance(want.lat, want.lon, p.Latitude, p.Longitude)) > 1e-9 {
			t.Errorf("%.1f %.1f: %v, %.1f km, want %s", want.lat, want.lon, p, km, want.name)
		}
	}
	if p, _, ok := g.Nearest(-48, -120, 0); ok { // the south Pacific
		t.Errorf("%v is near the middle of the ocean", p)
	}
}

// Of a small frame: what an honest look at every place finds.
func TestWithinAgainstLookingAtAll(t *testing.T) {
	t.Parallel()
	g := shippedFor(t)
	const south, west, north, east = 47.0, 10.0, 47.7, 11.5
	got, err := g.Within(south, west, north, east, 3000, math.MaxInt)
	if err != nil {
		t.Fatal(err)
	}
	want := 0
	for id := range g.Source().Places {
		if id%PlacesInBlock > 0 {
			continue
		}
		b, err := g.places(id / PlacesInBlock)
		if err != nil {
			t.Fatal(err)
		}
		for k := range b.names {
			p := g.place(b, id+k)
			if p.Latitude >= south && p.Latitude <= north && p.Longitude >= west && p.Longitude <= east && p.Population >= 3000 {
				want++
			}
		}
	}
	if len(got) != want || want == 0 {
		t.Errorf("%d places, want %d", len(got), want)
	}
	if !slices.IsSortedFunc(got, func(a, b Place) int { return b.Population - a.Population }) {
		t.Error("not the largest first")
	}
}

// The haversine of a quarter of a meridian; Vienna to Zurich, 591 km (from memory).
func TestDistance(t *testing.T) {
	t.Parallel()
	if d := Distance(0, 0, 90, 0); math.Abs(d-math.Pi/2*earthKM) > 1e-6 {
		t.Errorf("a quarter of a meridian is %f", d)
	}
	if d := Distance(48.208, 16.372, 47.367, 8.55); d < 580 || d > 600 {
		t.Errorf("Vienna to Zurich is %f", d)
	}
}

// CLDR's names (from memory).
func TestCountries(t *testing.T) {
	t.Parallel()
	g := shippedFor(t)
	for _, want := range [][3]string{{"DE", "de", "Deutschland"}, {"DE", "en", "Germany"}, {"AT", "de-AT", "Österreich"}, {"NZ", "fr", "New Zealand"}, {"QQ", "de", "QQ"}} {
		if got := g.Country(want[0], want[1]); got != want[2] {
			t.Errorf("%s in %s is %q", want[0], want[1], got)
		}
	}
}

func TestDamagedFiles(t *testing.T) {
	t.Parallel()
	for name, file := range map[string]string{
		"empty": "", "other": strings.Repeat("x", 100), "no head": Magic + "\x00\x00\x00", "cut in the head": shipped[:len(Magic)+200],
	} {
		if _, err := Open(file); err == nil {
			t.Errorf("%s opens", name)
		}
	}
	g, err := Open(shipped[:len(shipped)/2])
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.Find("Zürich", 1, nil); err == nil {
		t.Error("half a file finds Zürich")
	}
}

func BenchmarkFind(b *testing.B) {
	g := shippedFor(b)
	for _, typed := range []string{"ne", "Neustadt", "Guelph", "Springfield, Illinois"} {
		b.Run(typed, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if found, err := g.Find(typed, 8, func(p Place, in string) bool { return Fold(p.Region) == in }); err != nil || len(found) == 0 {
					b.Fatal(found, err)
				}
			}
		})
	}
}

func BenchmarkNearest(b *testing.B) {
	g := shippedFor(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, ok := g.Nearest(48.2, 11.5, 0); !ok {
			b.Fatal("none")
		}
	}
}
