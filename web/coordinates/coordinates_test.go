package coordinates

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

const (
	practice = "common practice, no source"
	rfc5870  = "RFC 5870"
	iso      = "ISO 6709 annex H, from memory"
)

func TestParse(t *testing.T) {
	t.Parallel()
	const lat, lon = 48 + 12.0/60 + 3.6/3600, 16 + 22.0/60 + 10.2/3600 // of RFC 5870's example, 48.2010 16.3695
	for _, tt := range []struct {
		typed    string
		lat, lon float64
		source   string
	}{
		{"geo:13.4125,103.8667", 13.4125, 103.8667, rfc5870 + ", 6.1"},
		{"geo:48.2010,16.3695,183", 48.2010, 16.3695, rfc5870 + ", 1"},
		{"geo:48.198634,16.371648;crs=wgs84;u=40", 48.198634, 16.371648, rfc5870 + ", 6.1"},
		{"geo:90,-22.43;crs=WGS84", 90, -22.43, rfc5870 + ", 6.4: a pole"},
		{"geo:-48.2010,16.3695;u=0", -48.2010, 16.3695, rfc5870},
		{"GEO:48.2010,16.3695", 48.2010, 16.3695, "RFC 3986, 3.1: schemes in any case"},
		{"geo:0,0?q=48.2010,16.3695(Orchard)", 48.2010, 16.3695, practice},
		{"geo:48.2010,16.3695?z=11", 48.2010, 16.3695, practice},

		{"+40-075CRSWGS_84/", 40, -75, iso},
		{"+40.20361-075.00417CRSWGS_84/", 40.20361, -75.00417, iso},
		{"+4012.22-07500.25CRSWGS_84/", 40 + 12.22/60, -75 - 0.25/60, iso},
		{"+401213.1-0750015.1+2.79CRSWGS_84/", 40 + 12/60.0 + 13.1/3600, -75 - 15.1/3600, iso},
		{"+27.5916+086.5640+8850/", 27.5916, 86.5640, iso},
		{"-90+000+2800/", -90, 0, iso},
		{"50°40′46″N 95°48′26″W", 50 + 40/60.0 + 46/3600.0, -95 - 48/60.0 - 26/3600.0, "ISO 6709 annex D, from memory"},

		{"48.2010, 16.3695", lat, lon, practice},
		{"48.2010,16.3695", lat, lon, practice},
		{"48.2010 16.3695", lat, lon, practice},
		{"48,2010; 16,3695", lat, lon, practice},
		{"48,2010 16,3695", lat, lon, practice},
		{"48,2010, 16,3695", lat, lon, practice},
		{"48,2010,16,3695", lat, lon, practice},
		{"48,2010 / 16,3695", lat, lon, practice},
		{"(48.2010, 16.3695)", lat, lon, practice},
		{"48.2010\t16.3695\n", lat, lon, practice},
		{"48.2010° N, 16.3695° E", lat, lon, practice},
		{"48,2010° N, 16,3695° O", lat, lon, practice + ": O is Ost"},
		{"N 48.2010 E 16.3695", lat, lon, practice},
		{"N48.2010° O16.3695°", lat, lon, practice},
		{"16.3695E 48.2010N", lat, lon, practice},
		{"E 16.3695, N 48.2010", lat, lon, practice},
		{"48.2010 Nord, 16.3695 Ost", lat, lon, practice},
		{"48.2010 north 16.3695 east", lat, lon, practice},
		{"lat: 48.2010, lon: 16.3695", lat, lon, practice},
		{"lng=16.3695 lat=48.2010", lat, lon, practice},
		{"Breite 48,2010 Länge 16,3695", lat, lon, practice},
		{"Latitude: 48.2010 N Longitude: 16.3695 E", lat, lon, practice},
		{"-43.5320, 172.6362", -43.5320, 172.6362, practice},
		{"−43,5320; 172,6362", -43.5320, 172.6362, practice + ": a real minus"},
		{"43.5320 S 172.6362 E", -43.5320, 172.6362, practice},
		{"+43.5, -079.9", 43.5, -79.9, practice},
		{"48, 16", 48, 16, practice},
		{"48,16", 48, 16, practice},
		{"48 16", 48, 16, practice},
		{"48.2010, 16.3695, 183", lat, lon, practice},

		{"48° 12.06' N, 16° 22.17' E", lat, lon, practice},
		{"48° 12,06' N, 16° 22,17' O", lat, lon, practice},
		{"N48 12.06 E16 22.17", lat, lon, practice},
		{"48 12.06, 16 22.17", lat, lon, practice},
		{"48 12.06 16 22.17", lat, lon, practice},
		{"48°12.06 16°22.17", lat, lon, practice},
		{"N 48° 12.06′ W 016° 22.17′", lat, -lon, practice},
		{"48° 12' 3.6\" N 16° 22' 10.2\" E", lat, lon, practice},
		{"48°12'3.6\"N 16°22'10.2\"E", lat, lon, practice},
		{"48°12′3,6″ N, 16°22′10,2″ O", lat, lon, practice},
		{"48º12’3.6” N 16º22’10.2” E", lat, lon, practice + ": a phone's quotes"},
		{"48° 12' 3.6'' S 16° 22' 10.2'' W", -lat, -lon, practice},
		{"48 12 3.6 N 16 22 10.2 E", lat, lon, practice},
		{"48 12 3.6 16 22 10.2", lat, lon, practice},
		{"48:12:3.6, 16:22:10.2", lat, lon, practice},
		{"48d12m3.6s N 16d22m10.2s E", lat, lon, practice},
		{"-48° 12' 3.6\", -16° 22' 10.2\"", -lat, -lon, practice},
		{"S 48° 12' 3.6\" E 16° 22' 10.2\"", -lat, lon, practice},
		{"0° 30' S, 0° 15' W", -0.5, -0.25, practice},
		{"-0° 30', -0° 15'", -0.5, -0.25, practice + ": minus nought"},

		{"https://maps.example/@48.2010,16.3695,15z", lat, lon, practice},
		{"https://maps.example/?q=48.2010,16.3695", lat, lon, practice},
		{"https://maps.example/?q=48.2010%2C16.3695&hl=de", lat, lon, practice},
		{"https://maps.example/?mlat=48.2010&mlon=16.3695#map=12/48.1/16.2", lat, lon, practice},
		{"https://maps.example/#map=15/48.2010/16.3695", lat, lon, practice},
	} {
		p, err := Parse(tt.typed)
		if err != nil || math.Abs(p.Latitude-tt.lat) > 1e-9 || math.Abs(p.Longitude-tt.lon) > 1e-9 {
			t.Errorf("%q (%s): %v, %v; want %v %v", tt.typed, tt.source, p, err, tt.lat, tt.lon)
		}
	}
}

func TestHeights(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]float64{"geo:48.2010,16.3695,183": 183, "+27.5916+086.5640+8850/": 8850, "48.2, 16.4, -5": -5} {
		if p, err := Parse(typed); err != nil || p.Height == nil || *p.Height != want {
			t.Errorf("%s: %v %v", typed, p, err)
		}
	}
	if p, err := Parse("48.2, 16.4"); err != nil || p.Height != nil {
		t.Errorf("a height from nowhere: %v %v", p, err)
	}
}

func TestWhatIsWrong(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]error{
		"": ErrNone, "Neustadt": ErrNone, "Neustadt 2": ErrNone, "48.2": ErrNone, "48": ErrNone, "N E": ErrNone, "1. Hof, 2. Stand": ErrNone,
		"91, 16": ErrLatitude, "-90.01 0": ErrLatitude, "91 N 16 E": ErrLatitude, "geo:91,0": ErrLatitude, "+91+000/": ErrLatitude,
		"48, 181": ErrLongitude, "48 N 180.5 W": ErrLongitude, "geo:48,181": ErrLongitude,
		"48° 60' N 16° 0' E": ErrSixty, "48 12 60 16 22 10": ErrSixty, "48.5° 12' N 16° E": ErrSixty, "+4060-07500/": ErrSixty,
		"48 N 16 N": ErrUnclear, "48 N 16": ErrUnclear, "-48 S 16 E": ErrUnclear, "48 -12 N 16 E": ErrUnclear, "48 12 16": ErrUnclear, "1, 2, 3, 4, 5": ErrUnclear,
		"48' 12° N 16 E": ErrUnclear, "N 48 16 E": ErrUnclear, "geo:48": ErrUnclear, "geo:48;16": ErrUnclear, "geo:48,2;x": nil, "https://maps.example/": ErrUnclear,
		"geo:323482,4306480;crs=EPSG:32618;u=20": ErrSystem, "+40-075CRSxxxx/": ErrSystem,
		"1e400, 5": ErrUnclear, strings.Repeat("9", 400) + ", 5": ErrLatitude, strings.Repeat("1 ", 2000): ErrNone,
	} {
		if p, err := Parse(typed); !errors.Is(err, want) {
			t.Errorf("%.40q: %v, %v; want %v", typed, p, err, want)
		}
	}
}

func TestOneCoordinate(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]float64{
		"48.201": 48.201, "48,201": 48.201, " -48,201 ": -48.201, "48° 12,06' N": 48.201, "S 48 12 3.6": -48.201, "48° 12' 3.6\"": 48.201, "Breite: 48,201": 48.201, "0": 0,
	} {
		if v, err := Latitude(typed); err != nil || math.Abs(v-want) > 1e-9 {
			t.Errorf("%s: %v %v", typed, v, err)
		}
	}
	if v, err := Longitude("16° 22,17' O"); err != nil || math.Abs(v-16.3695) > 1e-9 {
		t.Error(v, err)
	}
	for typed, want := range map[string]error{"": ErrNone, "north": ErrUnclear, "90.5": ErrLatitude, "48 E": ErrUnclear, "48, 16": ErrUnclear, "48 61": ErrSixty, "here": ErrNone} {
		if v, err := Latitude(typed); !errors.Is(err, want) {
			t.Errorf("%q: %v, %v; want %v", typed, v, err, want)
		}
	}
	if _, err := Longitude("180.01"); !errors.Is(err, ErrLongitude) {
		t.Error(err)
	}
}

// A place written in each of the forms is read as that place.
func TestEveryFormReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.IntRange(-90*36000, 90*36000).Draw(t, "lat"), rapid.IntRange(-180*36000, 180*36000).Draw(t, "lon")
		want := Point{Latitude: float64(lat) / 36000, Longitude: float64(lon) / 36000}
		for _, typed := range written(lat, lon) {
			p, err := Parse(typed)
			if err != nil || math.Abs(p.Latitude-want.Latitude) > 2e-6 || math.Abs(p.Longitude-want.Longitude) > 2e-6 {
				t.Errorf("%s: %v %v, want %v", typed, p, err, want)
			}
		}
	})
}

// written writes a place, in tenths of a second, in several forms.
func written(lat, lon int) []string {
	wind := func(v int, plus, minus string) string {
		if v < 0 {
			return minus
		}
		return plus
	}
	abs := func(v int) int { return max(v, -v) }
	ns, ew, ewDE := wind(lat, "N", "S"), wind(lon, "E", "W"), wind(lon, "O", "W")
	dms := func(v int) string {
		v = abs(v)
		return fmt.Sprintf("%d°%02d'%02d.%d\"", v/36000, v/600%60, v/10%60, v%10)
	}
	dm := func(v int) string {
		v = abs(v)
		return fmt.Sprintf("%d° %08.5f'", v/36000, float64(v%36000)/600)
	}
	comma := func(s string) string { return strings.ReplaceAll(s, ".", ",") }
	decimal := [2]string{fmt.Sprintf("%.6f", float64(lat)/36000), fmt.Sprintf("%.6f", float64(lon)/36000)}
	return []string{
		decimal[0] + ", " + decimal[1], comma(decimal[0]) + " " + comma(decimal[1]), "geo:" + decimal[0] + "," + decimal[1] + ";u=5",
		dms(lat) + ns + " " + dms(lon) + ew, ns + " " + dms(lat) + " " + ew + " " + dms(lon), comma(dms(lat)) + " " + ns + ", " + comma(dms(lon)) + " " + ewDE,
		dm(lat) + " " + ns + ", " + dm(lon) + " " + ew, comma(dm(lon)) + ewDE + " " + comma(dm(lat)) + ns,
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"geo:48.2010,16.3695,183;crs=wgs84;u=40", "geo:0,0?q=48.2,16.3(x)", "+401213.1-0750015.1+2.79CRSWGS_84/", "48° 12' 3.6\" N 16° 22' 10.2\" E", "48,2010; 16,3695",
		"N48 12.06 O16 22.17", "lat: 48 lon: 16", "48d12m3.6s N 16d22m10.2s E", "https://maps.example/@48.2,16.3", "Neustadt 2", "-0° 30', -0° 15'",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := Parse(s)
		if err != nil {
			for _, known := range []error{ErrNone, ErrUnclear, ErrLatitude, ErrLongitude, ErrSixty, ErrSystem} {
				if errors.Is(err, known) {
					return
				}
			}
			t.Fatalf("%q: an error of no kind: %v", s, err)
		}
		if !(math.Abs(p.Latitude) <= 90 && math.Abs(p.Longitude) <= 180) {
			t.Fatalf("%q: %v", s, p)
		}
		again, err := Parse(p.String())
		if err != nil || math.Abs(again.Latitude-p.Latitude) > 1e-5 || math.Abs(again.Longitude-p.Longitude) > 1e-5 {
			t.Fatalf("%q: %v reads back as %v (%v)", s, p, again, err)
		}
		_, _ = Latitude(s)
		_, _ = Longitude(s)
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("48° 12' 3.6\" N 16° 22' 10.2\" E"); err != nil {
			b.Fatal(err)
		}
	}
}
