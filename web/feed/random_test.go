package feed

import (
	"fmt"
	"strings"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// awkward are names that have broken calendars elsewhere: emoji, commas and
// other separators, newlines, right-to-left text, 500 characters.
var awkward = []string{
	"Orchard", "🐝 Bee 👩‍🌾 yard", `a, b; c: "d" \ e\n`, "two\r\nlines\nand\rmore", "مَنحل الوادي", "מכוורת, הגליל", "\u202eright to left\u202c",
	strings.Repeat("länge ", 30), "BEGIN:VEVENT\r\nSUMMARY:not ours", " edge ", "\tq\u00a0\u2028p", "=?utf-8?q?x?=", "END:VCALENDAR",
}

// name draws a name that no other thing of its kind has.
func name(t *rapid.T, kind string, id int64) string {
	n := rapid.OneOf(rapid.SampledFrom(awkward), rapid.StringN(1, 40, 150)).Draw(t, kind)
	return fmt.Sprint(strings.ToValidUTF8(strings.ReplaceAll(n, "\x00", ""), ""), " ", id)
}

// randomClub draws a club with all that a calendar shows of it.
func randomClub(apiaries, boxes int) *rapid.Generator[*scheduler.Club] {
	return rapid.Custom(func(t *rapid.T) *scheduler.Club {
		c := &scheduler.Club{Name: "Sluice Lane", Rules: scheduler.DefaultRules()}
		for i := range rapid.IntRange(1, 3).Draw(t, "members") {
			c.Members = append(c.Members, scheduler.Member{
				ID: int64(i + 1), Name: name(t, "member", int64(i)), Email: fmt.Sprintf("m%d@example.org", i), Role: scheduler.Organiser,
				Language: rapid.SampledFrom([]string{"", "de", "en-US"}).Draw(t, "language"),
			})
		}
		box, hive := int64(0), int64(0)
		for i := range rapid.IntRange(1, apiaries).Draw(t, "apiaries") {
			a := scheduler.Apiary{
				ID: int64(i + 1), Name: name(t, "apiary", int64(i)), Latitude: rapid.Float64Range(-60, 65).Draw(t, "latitude"),
				Longitude: 10, ElevationM: rapid.Float64Range(0, 1500).Draw(t, "elevation"), AccessNotes: "gate code Q8812Q",
				Timezone: rapid.SampledFrom([]string{"Europe/London", "America/Toronto", "Pacific/Auckland", "Africa/Nairobi"}).Draw(t, "zone"),
				Keepers:  []int64{int64(rapid.IntRange(1, len(c.Members)).Draw(t, "keeper"))},
			}
			for range rapid.IntRange(1, 2).Draw(t, "hives") {
				hive++
				h := scheduler.Hive{ID: hive, Name: name(t, "hive", hive)}
				for range rapid.IntRange(1, boxes).Draw(t, "boxes") {
					box++
					h.Boxes = append(h.Boxes, randomBox(t, box))
				}
				a.Hives = append(a.Hives, h)
			}
			c.Apiaries = append(c.Apiaries, a)
		}
		return c
	})
}

func randomBox(t *rapid.T, id int64) scheduler.Box {
	b := scheduler.Box{ID: id, Name: name(t, "box", id), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 1)}
	on := b.SetUpOn
	for range rapid.IntRange(0, 3).Draw(t, "openings") {
		on += scheduler.Date(rapid.IntRange(20, 200).Draw(t, "wait"))
		b.Openings = append(b.Openings, scheduler.Opening{
			ID: uuid.NewString(), On: on, Joint: scheduler.Difficulty(rapid.IntRange(0, 4).Draw(t, "joint")), Frames: scheduler.NotTried,
			Scraped: scheduler.ScrapedPart, Note: strings.Repeat("näher, am Zaun; ", 32)[:500],
			Condition: rapid.SampledFrom([][]scheduler.Condition{nil, {scheduler.Warped}, {scheduler.BroodSuspect, scheduler.LugBroken}}).Draw(t, "condition"),
		})
	}
	return b
}

// stories is how many random cases a test goes through: more in a long run.
func stories(short, long int) int {
	if testrun.Soak() {
		return long
	}
	return short
}
