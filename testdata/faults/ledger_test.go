package faults

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store/records"
)

// exported reads a club's records as its members take them along.
func (h *house) exported(club string) (c *scheduler.Club, file string) {
	h.Helper()
	text := h.must("export", "--club", club)
	c, err := records.Parse([]byte(text))
	if file = h.exportFile(); err == nil {
		err = os.WriteFile(file, []byte(text), 0o600)
	}
	if err != nil {
		h.Fatal(err)
	}
	return c, file
}

// exportFile is where what was exported last lies.
func (h *house) exportFile() string { return h.log + ".export.json" }

// notes counts the openings on record by their notes.
func notes(c *scheduler.Club) map[string]int {
	out := map[string]int{}
	count := func(boxes []scheduler.Box) {
		for i := range boxes {
			for _, o := range boxes[i].Openings {
				out[o.Note]++
			}
		}
	}
	count(c.Spare)
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			count(c.Apiaries[i].Hives[j].Boxes)
		}
	}
	return out
}

// missing compares what was acknowledged with what is on record.
func missing(acked map[string]bool, kept map[string]int) (lost, doubled []string) {
	for note := range acked {
		if kept[note] == 0 {
			lost = append(lost, note)
		}
	}
	for note, n := range kept {
		if n > 1 {
			doubled = append(doubled, note)
		}
	}
	slices.Sort(lost)
	slices.Sort(doubled)
	return lost, doubled
}

// keeps compares openings that were acknowledged, by their notes, with the records.
func (h *house) keeps(acked map[string]bool, c *scheduler.Club) {
	lost, doubled := missing(acked, notes(c))
	h.r.lost, h.r.doubled = h.r.lost+len(lost), h.r.doubled+len(doubled)
	if len(lost)+len(doubled) > 0 {
		h.r.bad("lost %q, doubled %q", lost, doubled)
	}
}

func (rec *recorder) check() {
	rec.Helper()
	c := rec.isFresh(rec.club)
	rec.mu.Lock()
	defer rec.mu.Unlock()
	rec.keeps(rec.acked, c)
}

// planned is what is compared of a plan: its visits in the words of people, in order.
type planned []string

// report is what pryday plan prints, as far as it is compared.
type report struct {
	Visits []struct {
		Apiary, On, Status string
		Boxes              []struct{ Hive, Box, Due string }
	}
	Boxes []struct {
		Apiary, Hive, Box, Due string
		RateMean               float64 `json:"rate_mean"`
	}
}

func (p *report) lines() (out planned) {
	for _, v := range p.Visits {
		var boxes []string
		for _, b := range v.Boxes {
			boxes = append(boxes, fmt.Sprintf("%s/%s by %s", b.Hive, b.Box, b.Due))
		}
		slices.Sort(boxes)
		out = append(out, fmt.Sprintf("visit of %s on %s, %s: %s", v.Apiary, v.On, v.Status, strings.Join(boxes, ", ")))
	}
	for _, b := range p.Boxes {
		out = append(out, fmt.Sprintf("box %s/%s/%s by %s, rate %.6f", b.Apiary, b.Hive, b.Box, b.Due, b.RateMean))
	}
	slices.Sort(out)
	return out
}

func (h *house) plan(args ...string) planned {
	h.Helper()
	var p report
	if err := json.Unmarshal([]byte(h.must(append([]string{"plan", "--format", "json", "--today", h.today().String()}, args...)...)), &p); err != nil {
		h.Fatal(err)
	}
	return p.lines()
}

// stored is the plan as it lies in the database.
func (h *house) stored(club string) planned {
	h.Helper()
	lines := ask[one[string]](h, `
		SELECT format('visit of %s on %s, %s: %s', a.name, v.on_day, v.status, coalesce(string_agg(format('%s/%s by %s', e.name, b.name, x.due), ', '
		              ORDER BY format('%s/%s by %s', e.name, b.name, x.due) COLLATE "C"), ''))
		  FROM visit v JOIN club c ON c.id = v.club_id JOIN apiary a ON a.id = v.apiary_id
		  LEFT JOIN visit_box x ON x.visit_id = v.id AND x.club_id = v.club_id
		  LEFT JOIN box b ON b.id = x.box_id LEFT JOIN hive e ON e.id = b.hive_id
		 WHERE c.name = $1 AND v.status IN ('tentative', 'confirmed', 'unanswered') AND v.on_day < $2::text::date + 365
		 GROUP BY a.name, v.id, v.on_day, v.status
		UNION ALL
		SELECT format('box %s/%s/%s by %s, rate %s', a.name, e.name, b.name, d.due, to_char(d.rate_mean, 'FM999990.000000'))
		  FROM due d JOIN box b ON b.id = d.box_id JOIN club c ON c.id = b.club_id JOIN hive e ON e.id = b.hive_id
		  JOIN apiary a ON a.id = e.apiary_id WHERE c.name = $1`, club, h.today().String())
	var out planned
	for _, l := range lines {
		out = append(out, l.Value)
	}
	slices.Sort(out)
	return out
}

// differences are the lines that only one of two plans has.
func differences(a, b planned) (out []string) {
	for _, l := range a {
		if !slices.Contains(b, l) {
			out = append(out, "- "+l)
		}
	}
	for _, l := range b {
		if !slices.Contains(a, l) {
			out = append(out, "+ "+l)
		}
	}
	if len(out) == 0 && len(a) != len(b) {
		out = append(out, fmt.Sprintf("%d lines and %d", len(a), len(b)))
	}
	return out
}

// isFresh compares what is stored with what planning makes of the exported
// records, which it returns.
func (h *house) isFresh(club string) *scheduler.Club {
	h.Helper()
	c, file := h.exported(club)
	kept := h.stored(club)
	if d := differences(kept, h.plan("--records", file)); len(d) > 0 || len(kept) == 0 {
		h.r.fresh = false
		h.r.bad("the stored plan is not one of the exported records: %q", d[:min(len(d), 6)])
	}
	return c
}

// mail accounts for each message that was owed. Those that came twice are
// explained where the first came in another run of the daemon, which a fault
// ended; may says how many so far.
func (h *house) mail(may int) {
	h.Helper()
	type message struct{ ID, State, Kind, Address string }
	twice := 0
	for _, m := range ask[message](h, `SELECT message_id, state, kind, address FROM message`) {
		got := h.mails.arrivals(m.ID)
		switch {
		case m.State == "owed", m.State == "sent" && len(got) == 0:
			h.r.lost++
			h.r.bad("a message (%s) to %s is %s, and came %d times", m.Kind, m.Address, m.State, len(got))
		case m.State != "sent" && len(got) > 0:
			h.r.bad("a message (%s) to %s came, and is on record as %s", m.Kind, m.Address, m.State)
		}
		if n := len(got) - 1; n > 0 {
			if explained(got) {
				twice += n
			} else {
				h.r.doubled += n
				h.r.bad("a message (%s) to %s came %d times", m.Kind, m.Address, len(got))
			}
		}
	}
	if twice > may {
		h.r.doubled += twice - may
		h.r.bad("%d messages came twice, and only %d can have been cut off", twice, may)
	}
	h.r.cutOff = twice
}

// explained reports whether each came in a run of its own.
func explained(all []arrival) bool {
	seen := map[int]bool{}
	for _, a := range all {
		if seen[a.run] {
			return false
		}
		seen[a.run] = true
	}
	return true
}

func TestLedgerFindsWhatIsWrong(t *testing.T) {
	lost, doubled := missing(map[string]bool{"a": true, "b": true}, map[string]int{"b": 2, "c": 1})
	if !slices.Equal(lost, []string{"a"}) || !slices.Equal(doubled, []string{"b"}) {
		t.Errorf("lost %q, doubled %q", lost, doubled)
	}
	if d := differences(planned{"a", "b"}, planned{"b", "c"}); !slices.Equal(d, []string{"- a", "+ c"}) {
		t.Errorf("differences %q", d)
	}
	if d := differences(planned{"a", "a"}, planned{"a"}); len(d) == 0 {
		t.Error("a line that is there twice passes for one")
	}
	if !explained([]arrival{{run: 1}, {run: 2}}) || explained([]arrival{{run: 2}, {run: 2}}) {
		t.Error("a mail that one run sent twice is explained, or one of two runs is not")
	}
	club, err := records.Parse([]byte(`{"club": {"name": "A", "members": []}, "apiaries": [{"name": "T", "latitude": -1, "longitude": 36, "elevation_m": 1600, "timezone": "Africa/Nairobi", "hives": [
		{"name": "L", "boxes": [{"name": "R", "kind": "deep", "set_up_on": "2026-01-01", "openings": [{"on": "2026-02-01", "joint": 1, "frames": 1, "scraped": "all", "note": "x"}]}]}]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	if n := notes(club); n["x"] != 1 {
		t.Errorf("notes %v", n)
	}
}
