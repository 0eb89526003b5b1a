package web

import (
	"fmt"
	"net/http"
	"testing"
)

// BenchmarkFind looks for things in a club of 100,000 boxes, each with a note.
func BenchmarkFind(b *testing.B) {
	c := serveClub(b)
	for _, name := range []string{"Ansel", "Brida", "Corin"} {
		c.member[name] = 0
	}
	records := clubOf(4167)
	for i := range records.Members {
		records.Members[i].Email = fmt.Sprintf("big%d@example.org", i)
	}
	for i := range records.Apiaries {
		for j := range records.Apiaries[i].Hives {
			for k := range records.Apiaries[i].Hives[j].Boxes {
				records.Apiaries[i].Hives[j].Boxes[k].Openings[0].Note = fmt.Sprintf("Calm, plenty of pollen coming in, frame %d.", i)
			}
		}
	}
	c.importClub(records)
	who := c.as("Ansel")
	for _, search := range []struct {
		name, typed string
		status      int
	}{
		{"mark", "B77777", http.StatusSeeOther},
		{"beginning of every mark", "b", http.StatusOK},
		{"hive", "hive 7", http.StatusOK},
		{"word of a note", "frame 41", http.StatusOK},
		{"nothing", "no such thing", http.StatusOK},
	} {
		b.Run(search.name, func(b *testing.B) {
			for b.Loop() {
				if got := who.get(findPath(search.typed)); got.status != search.status {
					b.Fatalf("%d: %s", got.status, cutTo(got.text(), 300))
				}
			}
		})
	}
}
