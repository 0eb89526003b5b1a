package records

import (
	"encoding/json"
	"fmt"
	"testing"

	"pryday/scheduler"
)

// bigClub has 10,000 openings of 500 boxes.
func bigClub() *scheduler.Club {
	c := &scheduler.Club{ID: 1, Name: "Many", Rules: scheduler.DefaultRules()}
	for a := range 10 {
		apiary := scheduler.Apiary{Name: fmt.Sprint("A", a), Latitude: 46, Timezone: "Europe/Ljubljana"}
		for h := range 10 {
			hive := scheduler.Hive{Name: fmt.Sprint("H", h)}
			for b := range 5 {
				box := scheduler.Box{Name: fmt.Sprint("B", b), Kind: "deep", SetUpOn: scheduler.NewDate(2020, 4, 1)}
				for o := range 20 {
					box.Openings = append(box.Openings, scheduler.Opening{
						ID: OpeningID("Many", apiary.Name, hive.Name, box.Name, box.SetUpOn, o),
						On: box.SetUpOn + scheduler.Date(60*o), Joint: scheduler.Difficulty(o % 5), Frames: 1,
						Scraped: scheduler.ScrapedAll, Note: "lug a bit loose on the third frame",
					})
				}
				hive.Boxes = append(hive.Boxes, box)
			}
			apiary.Hives = append(apiary.Hives, hive)
		}
		c.Apiaries = append(c.Apiaries, apiary)
	}
	p := parser{club: c}
	p.numberBoxes()
	return c
}

func BenchmarkParse10000Openings(b *testing.B) {
	doc, err := Encode(bigClub())
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(doc)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse(doc); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDecode10000Openings is the same document read by the standard
// library without any check, to compare with.
func BenchmarkDecode10000Openings(b *testing.B) {
	doc, err := Encode(bigClub())
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(doc)))
	for b.Loop() {
		var out any
		if err := json.Unmarshal(doc, &out); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEncode10000Openings(b *testing.B) {
	c := bigClub()
	for b.Loop() {
		if _, err := Encode(c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCSV10000Openings(b *testing.B) {
	c := bigClub()
	list := EncodeOpenings(c)
	b.SetBytes(int64(len(list)))
	for b.Loop() {
		if n, err := ParseOpenings(list, c, CSVOptions{}); n != 0 || err != nil {
			b.Fatal(n, err)
		}
	}
}
