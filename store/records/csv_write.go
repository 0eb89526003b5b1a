package records

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
)

// apply puts the rows that are new into the club, and makes the hives and boxes
// that they need.
func (l *openingList) apply() int {
	added := 0
	// Openings first: making boxes moves the slices that b.box points into.
	for _, b := range l.order {
		if b.box != nil {
			if len(b.add) > 0 {
				b.box.StoodOn(b.add[0].On)
			}
			b.box.Openings = append(b.box.Openings, b.add...)
			added += len(b.add)
		}
	}
	lastHive, lastBox := l.lastIDs()
	for _, b := range l.order {
		if b.box != nil {
			continue
		}
		hive := l.hive(b.key, &lastHive)
		lastBox++
		hive.Boxes = append(hive.Boxes, scheduler.Box{
			ID: lastBox, Name: b.key.box, Kind: b.kind, Openings: b.add,
			SetUpOn: b.add[0].On, GuessedOn: b.add[0].On, // in use for nobody knows how long
		})
		added += len(b.add)
	}
	return added
}

func (l *openingList) lastIDs() (hive, box int64) {
	for a := range l.club.Apiaries {
		for h := range l.club.Apiaries[a].Hives {
			hive = max(hive, l.club.Apiaries[a].Hives[h].ID)
			for b := range l.club.Apiaries[a].Hives[h].Boxes {
				box = max(box, l.club.Apiaries[a].Hives[h].Boxes[b].ID)
			}
		}
	}
	for b := range l.club.Spare {
		box = max(box, l.club.Spare[b].ID)
	}
	return hive, box
}

// hive returns the hive of a box to be made, itself made if need be.
func (l *openingList) hive(key hiveBox, last *int64) *scheduler.Hive {
	for a := range l.club.Apiaries {
		apiary := &l.club.Apiaries[a]
		if apiary.Name != key.apiary {
			continue
		}
		for h := range apiary.Hives {
			if apiary.Hives[h].Name == key.hive {
				return &apiary.Hives[h]
			}
		}
		*last++
		apiary.Hives = append(apiary.Hives, scheduler.Hive{ID: *last, Name: key.hive})
		return &apiary.Hives[len(apiary.Hives)-1]
	}
	panic("the apiary " + strconv.Quote(key.apiary) + " was found before")
}

// EncodeOpenings writes the openings of c that count as CSV, box by box, each
// box with the hive that it stands on now. Cells that a spreadsheet would take
// for a formula begin with an apostrophe, which ParseOpenings takes off.
func EncodeOpenings(c *scheduler.Club) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	write := func(row ...string) {
		for i := range row {
			row[i] = Guard(row[i])
		}
		w.Write(row) // to memory, which does not fail
	}
	write(csvColumns...)
	box := func(apiary, hive string, box *scheduler.Box) {
		for _, o := range scheduler.Effective(box.Openings) {
			row := []string{
				apiary, hive, box.Name, box.Kind, o.On.String(),
				csvDifficulty(&o), string(scrapedOr(o.Scraped)), o.Note, OpenerName(c, &o),
			}
			write(append(row, csvDetails(&o)...)...)
		}
	}
	for a := range c.Apiaries {
		for h := range c.Apiaries[a].Hives {
			hive := &c.Apiaries[a].Hives[h]
			for i := range hive.Boxes {
				box(c.Apiaries[a].Name, hive.Name, &hive.Boxes[i])
			}
		}
	}
	for i := range c.Spare {
		box("", "", &c.Spare[i])
	}
	w.Flush()
	return b.Bytes()
}

// csvNotSaid stands for how hard an opening was where nobody said it.
const csvNotSaid = "?"

func csvDifficulty(o *scheduler.Opening) string {
	if d := csvDegree(o.Difficulty()); d != "" {
		return d
	}
	return csvNotSaid
}

func csvDegree(d scheduler.Difficulty) string {
	if d == scheduler.NotTried {
		return ""
	}
	return strconv.Itoa(int(d))
}

// guarded are the characters with which a spreadsheet begins a formula.
const guarded = "=+-@"

// Guard keeps a spreadsheet from running a cell as a formula.
func Guard(s string) string {
	if s != "" && (strings.IndexByte(guarded, s[0]) >= 0 || Guarded(s)) {
		return "'" + s
	}
	return s
}

// Unguard takes off what Guard put on.
func Unguard(s string) string {
	if Guarded(s) {
		return s[1:]
	}
	return s
}

// Guarded reports whether s looks as Guard leaves it.
func Guarded(s string) bool {
	if len(s) < 2 || s[0] != '\'' {
		return false
	}
	next, _ := utf8.DecodeRuneInString(s[1:])
	return strings.ContainsRune(guarded+"'", next)
}
