package faults

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"pryday/scheduler"
)

// The clubs lie in the tropics, where boxes may be opened on any day, and where it
// is day now: no row runs into another one. Each member has an apiary of the own,
// so that two plans never take each other's hours.
var zone, longitude = func() (*time.Location, float64) {
	for name, longitude := range map[string]float64{"Africa/Nairobi": 36.9, "America/Bogota": -74.1, "Asia/Jakarta": 106.8} {
		z, err := time.LoadLocation(name)
		if err != nil {
			panic(err)
		}
		if hour := time.Now().In(z).Hour(); hour >= 5 && hour <= 16 {
			return z, longitude
		}
	}
	panic("it is night everywhere")
}()

func today() scheduler.Date { return scheduler.DateOf(time.Now().In(zone)) }

// today is the day by the clock of the program.
func (h *house) today() scheduler.Date { return scheduler.DateOf(time.Now().Add(h.ahead).In(zone)) }

type fields = map[string]any

// clubOf is a club's document, with a box that has waited too long on each hive,
// so that each member is owed a mail.
func clubOf(name string, members int) []byte {
	slug := strings.ToLower(strings.ReplaceAll(name, " ", "-"))
	var people, apiaries []any
	for i := range members {
		role := "keeper"
		if i == 0 {
			role = "organiser"
		}
		apiary := fmt.Sprintf("Terrace %02d", i+1)
		people = append(people, fields{
			"name": fmt.Sprintf("Keeper %02d", i+1), "email": fmt.Sprintf("keeper%02d@%s.example", i+1, slug), "role": role,
			"apiaries": []any{apiary}, "timezone": zone.String(), "preferences": fields{"send_at": "00:00"},
		})
		apiaries = append(apiaries, apiaryOf(apiary, 1))
	}
	return document(fields{"club": fields{"name": name, "members": people}, "rules": fields{"lead_days": 0}, "apiaries": apiaries})
}

func apiaryOf(name string, hives int) fields {
	today := today()
	var all []any
	for i := range hives {
		var boxes []any
		for b, ago := range []int{300, 30, 45} {
			boxes = append(boxes, fields{
				"name": fmt.Sprintf("%s/%d/%d", name, i+1, b+1), "kind": "deep", "set_up_on": (today - 500).String(),
				"openings": []any{fields{"on": (today - scheduler.Date(ago)).String(), "joint": 2, "frames": 1, "scraped": "all", "note": fmt.Sprintf("first of %s/%d/%d", name, i+1, b+1)}},
			})
		}
		all = append(all, fields{"name": fmt.Sprintf("%s hive %d", name, i+1), "boxes": boxes})
	}
	return fields{"name": name, "latitude": -1.2, "longitude": longitude, "elevation_m": 1600, "timezone": zone.String(), "hives": all}
}

func document(what fields) []byte {
	data, err := json.Marshal(what)
	if err != nil {
		panic(err) // it is made of names and numbers
	}
	return data
}

// file writes a document and returns its place.
func (h *house) file(data []byte) string {
	h.Helper()
	f, err := os.CreateTemp(filepath.Dir(h.log), "document-*.json")
	if err != nil {
		h.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Write(data); err != nil {
		h.Fatal(err)
	}
	return f.Name()
}

// bringIn imports a club with the command line.
func (h *house) bringIn(name string, members int) {
	h.Helper()
	h.must("import", h.file(clubOf(name, members)))
}
