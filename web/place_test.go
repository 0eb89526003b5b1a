package web

import (
	"html"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func placeForm(pairs ...string) url.Values {
	f := fields("name", "Weir", "place", "", "placed", "", "latitude", "", "longitude", "", "elevation_m", "", "timezone", "")
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

func (a *answer) hasField(field, value string) *answer {
	a.t.Helper()
	if got := a.field(field); got != html.EscapeString(value) && got != value {
		a.t.Errorf("%s is %q, not %q", field, got, value)
	}
	return a
}

// Without a script: what is typed is looked up, shown, and saved once it was seen.
func TestPlaceByNameAndByCoordinates(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Ansel")
	before := len(c.club().Apiaries)

	got := b.post("/apiaries", placeForm("place", "Springfield", "look", "yes", "access_notes", "gate 4")).
		says(200, "Which one is it?", "Springfield, Missouri, United States", "Springfield, Illinois, United States", "people", "gate 4")
	_, rest, _ := strings.Cut(got.body, "Springfield, Illinois")
	if rest == "" {
		t.Fatal("no Springfield in Illinois")
	}
	b.post("/apiaries", placeForm("place", "Springfield, Illinois", "access_notes", "gate 4")).
		says(200, "Filled in: coordinates, height and time zone of Springfield, Illinois, United States", "gate 4").hides("Which one").
		hasField("timezone", "America/Chicago").hasField("placed", "Springfield, Illinois, United States")
	b.get("/apiaries/new").holds(`data-near="` + nearText(c.club().Apiaries) + `"`)
	for typed, says := range map[string]string{
		"Qwertzhausen": "No place is known as", "91, 5": "a latitude goes from -90 to 90", "48° 61' N 16 E": "minutes and seconds go from 0", "48 N 16 N": "cannot be read",
		"": "Say where it is", "geo:1,2;crs=moon": "another system than WGS 84",
	} {
		b.post("/apiaries", placeForm("place", typed)).says(422, says).hasField("name", "Weir")
	}
	b.post("/apiaries", placeForm()).says(422, "Say where it is").hides("is not a time zone")
	if n := len(c.club().Apiaries); n != before {
		t.Fatalf("%d apiaries were made by looking", n-before)
	}

	b.post("/apiaries", placeForm("place", `48° 12' 3.6" N, 16° 22' 10.2" E`)).says(200, "Filled in: height and time zone of", "Vienna, Austria").
		hasField("latitude", "48.201").hasField("longitude", "16.3695").hasField("timezone", "Europe/Vienna")
	b.post("/apiaries", placeForm("place", "geo:48.2010,16.3695,183")).says(200, "Filled in: the time zone of").hasField("elevation_m", "183")
	b.post("/apiaries", placeForm("latitude", "48° 12,06' N", "longitude", "16° 22,17' O")).says(200, "Filled in").hasField("timezone", "Europe/Vienna").hasField("latitude", "48° 12,06' N")
	b.post("/apiaries", placeForm("latitude", "-45", "longitude", "-130")).says(422, "must be a number from -430") // no town is near

	// Seen and corrected, it is saved; another place typed over it is looked up again.
	seen := []string{"place", "Guelph, Ontario, Canada", "placed", "Guelph, Ontario, Canada", "latitude", "43.546", "longitude", "-80.256", "elevation_m", "350", "timezone", "America/Toronto"}
	b.post("/apiaries", placeForm(append(slices.Clone(seen), "place", "Wien")...)).says(200, "Which one is it?", "Vienna, Austria")
	b.post("/apiaries", placeForm(append(slices.Clone(seen), "pick", "999999999")...)).says(422, "No place is known")
	b.post("/apiaries", placeForm(seen...)).says(303)
	a := c.club().ApiaryNamed("Weir")
	if a == nil || a.Latitude != 43.546 || a.ElevationM != 350 || a.Timezone != "America/Toronto" {
		t.Fatalf("%+v", a)
	}
	// A keeper looks another place up for an apiary that is there; nothing moves until it is saved.
	path := "/apiary/" + itoa(a.ID) + "/save"
	b.post(path, placeForm(append(slices.Clone(seen), "place", "Prag, Tschechien")...)).says(200, "Filled in: coordinates, height and time zone of Prague, Czechia").hasField("timezone", "Europe/Prague")
	if c.club().ApiaryNamed("Weir").Latitude != 43.546 {
		t.Error("looking moved it")
	}
}

// Pointing at the map: its middle is where it says, a hundred pixels to the right and up
// of 16 km across 300 pixels are 5.33 km east and north.
func TestPlaceByPointing(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Ansel")
	b.get("/apiaries/new").holds(`type="image"`).holds("/map/near.svg?at=")
	at := []string{"map_at", "48.20000, 16.30000", "map_km", "16"}
	got := b.post("/apiaries", placeForm(append(slices.Clone(at), "spot.x", "250", "spot.y", "50")...)).says(200, "Filled in", "Austria").hasField("timezone", "Europe/Vienna")
	lat, e1 := strconv.ParseFloat(got.field("latitude"), 64)
	lon, e2 := strconv.ParseFloat(got.field("longitude"), 64)
	if e1 != nil || e2 != nil || math.Abs(lat-48.248) > 0.001 || math.Abs(lon-16.3719) > 0.001 {
		t.Errorf("pointed at %f %f", lat, lon)
	}
	b.post("/apiaries", placeForm(append(slices.Clone(at), "map_step", "near")...)).says(200).hasField("map_km", "4")
	b.post("/apiaries", placeForm(append(slices.Clone(at), "map_step", "far")...)).says(200).hasField("map_km", "64")
	b.post("/apiaries", placeForm(append(slices.Clone(at), "spot.x", "-5", "spot.y", "many")...)).says(422, "Say where it is")
	b.get("/map/near.svg?at=48.2,16.3&km=64").holds("Klosterneuburg").holds("<svg")
	for _, wrong := range []string{"", "?at=48.2,16.3", "?at=x&km=4", "?at=48.2,16.3&km=0", "?at=48.2,16.3&km=99999"} {
		b.get("/places/near.svg" + wrong).says(400)
	}
}

// What a script asks for while one types, in its page's language.
func TestPlacesForScripts(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.stranger()
	b.get("/places?lang=de&q=Neustadt").says(200, "Welcher ist es?", "Neustadt, Rheinland-Pfalz, Deutschland", "Einwohner")
	b.get("/places?lang=de&q="+url.QueryEscape("Neustadt, Bayern")).says(200, "Bayern").hides("Rheinland-Pfalz")
	b.get("/places?lang=en&q="+url.QueryEscape("48.2010, 16.3695")).says(200, "Filled in", "Vienna, Austria")
	b.get("/places?lang=en&q=Qwertzhausen").says(200, "No place is known")
	b.get("/places?lang=en&q="+url.QueryEscape("<b>x")).says(200, "&lt;b&gt;x").hides("<b>x")
	for near, first := range map[string]string{
		"44.05, -123.02": "Springfield, Oregon", "42.10, -72.60": "Springfield, Massachusetts", "48.2, 16.3": "Springfield, Missouri", "": "Springfield, Missouri", "far": "Springfield, Missouri",
		"America/New_York": "Springfield, Massachusetts", "Australia/Brisbane": "Springfield, Queensland", "US": "Springfield, Missouri", "AU": "Springfield, Queensland", "Europe/Berlin": "Springfield, Missouri",
	} {
		got := b.get("/places?lang=en&q=Springfield&near="+url.QueryEscape(near)).says(200, first, "Springfield, ")
		if before, _, _ := strings.Cut(got.text(), first); strings.Contains(before, "Springfield, ") {
			t.Errorf("near %q others come before %s: %s", near, first, got.text())
		}
	}
	b.get("/places?q=Springfield&near=" + strings.Repeat("1", 500)).says(400)
	for _, q := range []string{"", strings.Repeat("a", 500), "%FF"} {
		b.get("/places?q=" + q).says(400)
	}
	b.get("/places/source").says(200, "GeoNames", "Creative Commons Attribution 4.0 International", "without any warranty", "Changed here")
}
