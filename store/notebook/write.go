package notebook

import (
	"slices"
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/records"
)

// Table writes the boxes of a club with their openings that count as a table that
// Read takes, in the words of whoever it is for: a row for each opening, box by box
// with the hive that it stands on now, and one for a box without any.
func Table(c *scheduler.Club, say *text.Speaker) [][]string {
	w := &tableWriter{club: c, say: say, fields: written(c)}
	var head []string
	for _, f := range w.fields {
		head = append(head, say.Tell(f.Text()))
	}
	w.rows = append(w.rows, head)
	for a := range c.Apiaries {
		for h := range c.Apiaries[a].Hives {
			hive := &c.Apiaries[a].Hives[h]
			for i := range hive.Boxes {
				w.box(&hive.Boxes[i], c.Apiaries[a].Name, hive.Name, strconv.Itoa(i+1))
			}
		}
	}
	for i := range c.Spare {
		w.box(&c.Spare[i], "", "", "")
	}
	return w.rows
}

type tableWriter struct {
	club   *scheduler.Club
	say    *text.Speaker
	fields []Field
	rows   [][]string
}

// written are the fields that a table of c has: of the places of gaps those where
// any was measured.
func written(c *scheduler.Club) []Field {
	measured := map[scheduler.GapPlace]bool{}
	look := func(boxes []scheduler.Box) {
		for i := range boxes {
			for k := range boxes[i].Openings {
				for _, g := range boxes[i].Openings[k].Gaps {
					measured[g.At] = true
				}
			}
		}
	}
	look(c.Spare)
	for a := range c.Apiaries {
		for h := range c.Apiaries[a].Hives {
			look(c.Apiaries[a].Hives[h].Boxes)
		}
	}
	return slices.DeleteFunc(Fields(), func(f Field) bool {
		at, gap := f.gapAt()
		return f == OfBox || f == OnDay || f == Gaps || gap && !measured[at]
	})
}

func (w *tableWriter) box(b *scheduler.Box, apiary, hive, position string) {
	place := map[Field]string{
		Apiary: apiary, Hive: hive, Box: b.Name, Position: position, Kind: w.say.Kind(b.Kind), SetUp: b.SetUpOn.String(),
	}
	if known().kinds[fold(place[Kind])] != b.Kind {
		place[Kind] = b.Kind
	}
	all := scheduler.Effective(b.Openings)
	if len(all) == 0 {
		w.row(place)
	}
	for i := range all {
		row := w.opening(&all[i])
		for f, s := range place {
			row[f] = s
		}
		w.row(row)
	}
}

func (w *tableWriter) opening(o *scheduler.Opening) map[Field]string {
	row := map[Field]string{Day: o.On.String(), Note: strings.TrimSpace(o.Note), Opener: records.OpenerName(w.club, o)}
	degree := func(f Field, d scheduler.Difficulty) {
		if d != scheduler.NotTried {
			row[f] = strconv.Itoa(int(d))
		}
	}
	if o.LeftShut {
		row[Shut], _, _ = strings.Cut(w.say.Say("sheet.yes"), ",")
	} else {
		degree(HowHard, o.Difficulty())
		degree(Joint, o.Joint)
		degree(Frames, o.Frames)
	}
	if o.Scraped != "" {
		row[Scraped] = w.say.Say("scraped." + string(o.Scraped))
	}
	for _, g := range o.Gaps {
		cell := row[gapField(g.At)]
		if cell != "" {
			cell += "; "
		}
		row[gapField(g.At)] = cell + w.gap(g)
	}
	var found []string
	for _, c := range o.Condition {
		found = append(found, w.say.Say("condition."+string(c)))
	}
	row[Condition] = strings.Join(found, "; ")
	return row
}

// gap writes a gap exactly, in millimetres whatever its reader measures in.
func (w *tableWriter) gap(g scheduler.Gap) string {
	if g.Peg != "" && g.MM == 0 {
		return w.say.Say("peg." + string(g.Peg))
	}
	s := strconv.FormatFloat(g.MM, 'f', -1, 64) + " mm"
	if g.Peg != "" {
		s += ": " + w.say.Say("peg."+string(g.Peg))
	}
	return s
}

func (w *tableWriter) row(cells map[Field]string) {
	out := make([]string, len(w.fields))
	for i, f := range w.fields {
		if out[i] = cells[f]; records.Guarded(out[i]) { // which Read takes off
			out[i] = records.Guard(out[i])
		}
	}
	w.rows = append(w.rows, out)
}
