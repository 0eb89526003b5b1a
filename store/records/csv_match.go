package records

import (
	"slices"
	"sort"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// find returns the box of a row.
func (l *openingList) find(key hiveBox, kind string, field func(string) string, bad func(name, value, why string, allowed text.Text, args ...any)) *listedBox {
	if b := l.boxes[key]; b != nil {
		if kind != "" && b.kind != "" && kind != b.kind {
			field("kind")
			bad("kind", kind, "records.why.other-kind", literal(b.kind))
			return nil
		}
		if b.kind == "" {
			b.kind = kind
		}
		return b
	}
	b := &listedBox{key: key, kind: kind}
	switch box, allowed := l.lookUp(key); {
	case box != nil:
		if kind != "" && kind != box.Kind {
			field("kind")
			bad("kind", kind, "records.why.other-kind", literal(box.Kind))
			return nil
		}
		if same := l.byBox[box]; same != nil { // under another hive of its
			l.boxes[key] = same
			return same
		}
		b.box, b.kind = box, box.Kind
	case allowed.column != "apiary" && l.opt.CreateBoxes && strings.TrimSpace(key.hive) != "":
		if _, ok := l.club.Kind(kind); !ok {
			field("kind")
			bad("kind", kind, "records.why.needs-kind", kindsAllowed(l.club))
			return nil
		}
	default:
		bad(allowed.column, field(allowed.column), "records.why.not-there", allowed.names)
		return nil
	}
	l.boxes[key] = b
	if b.box != nil {
		l.byBox[b.box] = b
	}
	l.order = append(l.order, b)
	return b
}

// allowedIn says which names a column could have had.
type allowedIn struct {
	column string
	names  text.Text
}

// lookUp finds a box on its hive, or, with hive and apiary empty, among those
// that stand on none; failing that, one that once stood on that hive.
func (l *openingList) lookUp(key hiveBox) (*scheduler.Box, allowedIn) {
	if key.apiary == "" && key.hive == "" {
		return l.lookUpMoved(key.box, 0), allowedIn{"box", text.New("records.allow.spare-box")}
	}
	for a := range l.club.Apiaries {
		apiary := &l.club.Apiaries[a]
		if apiary.Name != key.apiary {
			continue
		}
		for h := range apiary.Hives {
			hive := &apiary.Hives[h]
			if hive.Name != key.hive {
				continue
			}
			var names []string
			for b := range hive.Boxes {
				if hive.Boxes[b].Name == key.box {
					return &hive.Boxes[b], allowedIn{}
				}
				names = append(names, hive.Boxes[b].Name)
			}
			return l.lookUpMoved(key.box, hive.ID), allowedIn{"box", someOf(names)}
		}
		var names []string
		for h := range apiary.Hives {
			names = append(names, apiary.Hives[h].Name)
		}
		return nil, allowedIn{"hive", someOf(names)}
	}
	var names []string
	for a := range l.club.Apiaries {
		names = append(names, l.club.Apiaries[a].Name)
	}
	return nil, allowedIn{"apiary", someOf(names)}
}

// lookUpMoved finds the one box of a name that stood on a hive earlier, or with
// no hive the one that stands on none; nil when there are several.
func (l *openingList) lookUpMoved(name string, hive int64) *scheduler.Box {
	var found []*scheduler.Box
	look := func(boxes []scheduler.Box) {
		for i := range boxes {
			was := func(p scheduler.BoxPlace) bool { return p.Where == scheduler.OnHive && p.HiveID == hive }
			if boxes[i].Name == name && (hive == 0 || slices.ContainsFunc(boxes[i].Places, was)) {
				found = append(found, &boxes[i])
			}
		}
	}
	look(l.club.Spare)
	for a := range l.club.Apiaries {
		for h := range l.club.Apiaries[a].Hives {
			if hive != 0 {
				look(l.club.Apiaries[a].Hives[h].Boxes)
			}
		}
	}
	if len(found) != 1 {
		return nil
	}
	return found[0]
}

func someOf(names []string) text.Text {
	if len(names) == 0 {
		return text.New("records.allow.none-yet")
	}
	if len(names) > 10 {
		names = append(slices.Clip(names[:10]), "...")
	}
	return text.New("records.allow.these", strings.Join(names, ", "))
}

func kindNamesOf(c *scheduler.Club) []string {
	var names []string
	for _, kinds := range [][]scheduler.BoxKind{scheduler.BuiltinKinds, c.Kinds} {
		for i := range kinds {
			names = append(names, kinds[i].Name)
		}
	}
	return names
}

// match finds the rows that the club has already and checks the others against
// their boxes. The nth row of a box and day is matched with its nth opening.
func (l *openingList) match() {
	for _, b := range l.order {
		sort.SliceStable(b.rows, func(i, j int) bool { return b.rows[i].On < b.rows[j].On })
		var recorded []scheduler.Opening
		known := map[string]bool{}
		if b.box != nil {
			recorded = scheduler.Effective(b.box.Openings)
			for i := range b.box.Openings {
				known[b.box.Openings[i].ID] = true
			}
		}
		nth := 0
		for i, row := range b.rows {
			if i > 0 && b.rows[i-1].On == row.On {
				nth++
			} else {
				nth = 0
			}
			if old := nthOn(recorded, row.On, nth); old != nil {
				if old.Difficulty() != row.Difficulty() || scrapedOr(old.Scraped) != row.Scraped || newlines(old.Note) != newlines(row.Note) || l.otherOpener(&row, old) || row.otherDetails(old) {
					l.bad(row.line, row.column, "opened_on", row.On.String(),
						"records.why.other-answers", text.New("records.allow.same-answers"),
						b.key.box, csvDifficulty(old), string(scrapedOr(old.Scraped)))
				}
				continue
			}
			if b.box != nil && !b.box.MayStandOn(row.On) {
				l.bad(row.line, row.column, "opened_on", row.On.String(), "records.why.before-set-up", text.New("records.allow.from-day", b.box.SetUpOn.String()))
			}
			if b.box != nil && b.box.RetiredOn != 0 && row.On > b.box.RetiredOn {
				l.bad(row.line, row.column, "opened_on", row.On.String(), "records.why.after-retired", text.New("records.allow.to-day", b.box.RetiredOn.String()))
			}
			row.ID = OpeningID(l.club.Name, b.key.apiary, b.key.hive, b.key.box, row.On, nth)
			if known[row.ID] { // read before, and corrected since
				continue
			}
			b.add = append(b.add, row.Opening)
		}
	}
}

func nthOn(openings []scheduler.Opening, on scheduler.Date, nth int) *scheduler.Opening {
	for i := range openings {
		if openings[i].On == on {
			if nth == 0 {
				return &openings[i]
			}
			nth--
		}
	}
	return nil
}

func scrapedOr(s scheduler.Scraped) scheduler.Scraped {
	if s == "" {
		return scheduler.ScrapedNone
	}
	return s
}

// newlines are written by a CSV reader as line feeds alone.
func newlines(s string) string { return strings.ReplaceAll(s, "\r\n", "\n") }
