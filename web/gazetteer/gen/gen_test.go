package main

import (
	"bytes"
	"strings"
	"testing"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
	"pryday/web/gazetteer"
)

// line is one of GeoNames' list, of a made-up place.
func line(name, others, lat, lon, feature, country, region, people, ground, zone string) string {
	return strings.Join([]string{"1", name, "", others, lat, lon, "P", feature, country, "", region, "", "", "", people, "", ground, zone, "2020-02-02"}, "\t")
}

func TestWhatIsWrittenIsRead(t *testing.T) {
	t.Parallel()
	list := strings.Join([]string{
		line("Ahornbrück", "Ahornbruck,Maple Bridge,MPB,ma pu,Мапл", "48.12345", "-11.98765", "PPL", "AT", "06", "123456", "310", "Europe/Vienna"),
		line("Ahornbrück", "", "-3.5", "170", "PPL", "NZ", "E7", "700", "-9999", "Pacific/Auckland"),
		line("Ahornhausen", "", "48", "-11", "PPLQ", "AT", "06", "9000", "300", "Europe/Vienna"),
	}, "\n")
	towns, newest, err := readTowns(strings.NewReader(list))
	if err != nil || newest != "2020-02-02" {
		t.Fatal(newest, err)
	}
	regions := []gazetteer.Region{{Code: "AT.06", Name: "Styria"}}
	file, err := write(towns, regions, gazetteer.Source{Name: "made up"})
	if err != nil {
		t.Fatal(err)
	}
	again, err := write(towns, regions, gazetteer.Source{Name: "made up"})
	if err != nil || !bytes.Equal(file, again) {
		t.Errorf("written twice it differs (%v)", err)
	}
	g, err := gazetteer.Open(string(file))
	if err != nil {
		t.Fatal(err)
	}
	found, err := g.Find("ahornbruck", 5, nowhere)
	if err != nil || len(found) != 2 {
		t.Fatal(found, err)
	}
	want := gazetteer.Place{
		ID: found[0].ID, Name: "Ahornbrück", Latitude: 48.123, Longitude: -11.988, ElevationM: 310, Population: 120_000,
		Zone: "Europe/Vienna", Country: "AT", Region: "Styria", RegionCode: "AT.06",
	}
	if found[0].Place != want || !found[0].Exact {
		t.Errorf("%+v, want %+v", found[0], want)
	}
	if p := found[1]; p.ElevationM != 0 || p.Region != "" || p.Country != "NZ" {
		t.Errorf("%+v", p)
	}
	if p, ok := g.Place(found[0].ID); !ok || p != want {
		t.Errorf("by its number: %+v", p)
	}
	for typed, n := range map[string]int{"maple bridge": 1, "mpb": 0, "ma pu": 0, "ahornhausen": 0} {
		if found, err := g.Find(typed, 5, nowhere); err != nil || len(found) != n {
			t.Errorf("%s: %v, %v", typed, found, err)
		}
	}
}

func nowhere(gazetteer.Place, string) bool { return false }

func TestListsThatAreNone(t *testing.T) {
	t.Parallel()
	for _, list := range []string{"a\tb", line("A", "", "x", "0", "PPL", "AT", "", "1", "1", "UTC"), line("A", "", "0", "0", "PPL", "AT", "", "many", "1", "UTC")} {
		if _, _, err := readTowns(strings.NewReader(list)); err == nil || !strings.Contains(err.Error(), "line 1") {
			t.Errorf("%q: %v", list, err)
		}
	}
	if _, err := cities.read("gen_test.go"); err == nil {
		t.Error("this file is taken for a package")
	}
}
