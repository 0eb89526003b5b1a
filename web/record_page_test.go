package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// boxNamed finds a box of the first club by its mark.
func (c *testClub) boxNamed(name string) (*scheduler.Hive, *scheduler.Box) {
	c.t.Helper()
	club := c.club()
	for i := range club.Apiaries {
		for j := range club.Apiaries[i].Hives {
			h := &club.Apiaries[i].Hives[j]
			for k := range h.Boxes {
				if h.Boxes[k].Name == name {
					return h, &h.Boxes[k]
				}
			}
		}
	}
	c.t.Fatalf("no box %s", name)
	return nil, nil
}

// recordForm fills in the form of a box.
func recordForm(box *scheduler.Box, id string, pairs ...string) url.Values {
	v := fields("box", itoa(box.ID), "id", id, "on", today.String(), "joint", "2", "frames", "1", "scraped", "part")
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func TestRecordABox(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID) + "/record"
	page := b.get(path).says(http.StatusOK, "Is the stack as drawn?", "came up by hand", "came apart only by breaking something", "cut free at the sides")
	if page.field("base") == "" {
		t.Error("the form gives its records no id")
	}
	id := uuid.NewString()
	hostile := "<script>alert(1)</script> \"näher\" & 'zäh' </textarea>\nsecond line"
	got := b.follow(path, recordForm(box, id, "note", hostile, "condition", "lug-broken", "gap-at-0", "above-frames", "gap-size-0", "3/16", "gap-at-1", "between-boxes", "gap-peg-1", "thick-goes"))
	// Every answer, the verdict and the new due day are told at once.
	got.says(http.StatusOK, "Saved.", "Next to be opened by", "until now: by", "two to four corners", "frame lug broken", "3/16 in", "comb", "Likely")
	if strings.Contains(got.body, "<script>alert") || strings.Count(got.body, "&lt;script&gt;alert(1)&lt;/script&gt; &#34;näher&#34; &amp; &#39;zäh&#39;") < 2 {
		t.Error("the note does not come back as it was written")
	}
	_, box = c.boxNamed("Q13")
	o := box.OpeningOn(today)
	mm, err := text.ParseLength("3/16", text.Inches)
	if err != nil {
		t.Fatal(err)
	}
	want := scheduler.Opening{
		ID: id, On: today, Joint: scheduler.Firm, Frames: scheduler.Light, Scraped: scheduler.ScrapedPart, By: c.member["Brida"],
		Note: hostile, Condition: []scheduler.Condition{scheduler.LugBroken},
		Gaps: []scheduler.Gap{{At: scheduler.AboveFrames, MM: mm}, {At: scheduler.BetweenBoxes, Peg: scheduler.ThickGoes}},
	}
	if o == nil || !o.SameAnswers(&want) || o.By != want.By || o.ID != want.ID {
		t.Fatalf("recorded %+v, want %+v", o, want)
	}

	// The same form again changes nothing.
	n := len(box.Openings)
	b.follow(path, recordForm(box, id, "note", hostile, "condition", "lug-broken", "gap-at-0", "above-frames", "gap-size-0", "3/16", "gap-at-1", "between-boxes", "gap-peg-1", "thick-goes"))
	if _, box = c.boxNamed("Q13"); len(box.Openings) != n {
		t.Errorf("%d openings after sending it twice, want %d", len(box.Openings), n)
	}
	// With other answers (the back button) it corrects, and history stays.
	for range 2 {
		b.follow(path, recordForm(box, id, "joint", "1"))
	}
	_, box = c.boxNamed("Q13")
	if o := box.OpeningOn(today); len(box.Openings) != n+1 || o.Joint != scheduler.Light || o.Supersedes != id {
		t.Errorf("after a correction: %d rows, %+v", len(box.Openings), o)
	}
	// Taken back.
	page = b.get(path)
	v := recordForm(box, uuid.NewString(), "void", "yes", "supersedes", page.field("supersedes"))
	b.follow(path, v)
	_, box = c.boxNamed("Q13")
	if o := box.OpeningOn(today); o != nil || len(box.Openings) != n+2 {
		t.Errorf("after taking it back: %d rows, %+v", len(box.Openings), o)
	}
}

func TestRecordAsksAboutWhatIsUnusual(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q11") // loose last time
	b := c.as("Corin")
	path := "/hive/" + itoa(h.ID) + "/record"
	id := uuid.NewString()
	stuck := recordForm(box, id, "joint", "4", "note", "kept")
	b.post(path, stuck).says(http.StatusUnprocessableEntity, "Is it right?", "kept")
	if _, box := c.boxNamed("Q11"); box.OpeningOn(today) != nil {
		t.Error("an answer asked about was saved")
	}
	stuck.Set("sure", "yes")
	b.follow(path, stuck).says(http.StatusOK, "measure its gaps now")
	// Somebody else records the same box on the same day.
	a := c.as("Ansel")
	again := recordForm(box, uuid.NewString(), "joint", "3")
	page := a.post(path, again).says(http.StatusUnprocessableEntity, "recorded for this day already")
	again.Set("sure", "yes")
	again.Set("supersedes", page.field("supersedes"))
	a.follow(path, again)
	_, box = c.boxNamed("Q11")
	if o := box.OpeningOn(today); o.Joint != scheduler.Hard || o.By != c.member["Ansel"] {
		t.Errorf("got %+v", o)
	}
	wide := recordForm(box, uuid.NewString(), "supersedes", box.OpeningOn(today).ID, "joint", "3", "gap-at-0", "entrance", "gap-size-0", "3 in")
	a.post(path, wide).says(http.StatusUnprocessableEntity, "wider than a bee space")
}

func TestRecordRefusesWithReasons(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	_, elsewhere := c.boxNamed("O11")
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID) + "/record"
	for name, row := range map[string]struct {
		change []string
		status int
		says   string
	}{
		"no answer":        {[]string{"joint", ""}, http.StatusUnprocessableEntity, "Say how the joint came open"},
		"out of range":     {[]string{"joint", "5"}, http.StatusUnprocessableEntity, "Say how the joint came open"},
		"tomorrow":         {[]string{"on", (today + 1).String()}, http.StatusUnprocessableEntity, "days up to today"},
		"not a day":        {[]string{"on", "2027-02-30"}, http.StatusUnprocessableEntity, "days up to today"},
		"a gap in words":   {[]string{"gap-at-0", "above-frames", "gap-size-0", "a finger"}, http.StatusUnprocessableEntity, "above the frames"},
		"a gap nowhere":    {[]string{"gap-size-0", "8 mm"}, http.StatusUnprocessableEntity, "Say where the gap"},
		"a gap too wide":   {[]string{"gap-at-0", "entrance", "gap-size-0", "101 mm"}, http.StatusUnprocessableEntity, "entrance"},
		"a note too long":  {[]string{"note", strings.Repeat("ä", maxNote+1)}, http.StatusUnprocessableEntity, "Record"},
		"no text":          {[]string{"note", "\xff\xfe"}, http.StatusBadRequest, "no text"},
		"a zero byte":      {[]string{"note", "a\x00b"}, http.StatusBadRequest, "no text"},
		"another's box":    {[]string{"box", itoa(elsewhere.ID)}, http.StatusNotFound, "does not exist"},
		"an unknown box":   {[]string{"box", "999999"}, http.StatusNotFound, "does not exist"},
		"a foreign target": {[]string{"supersedes", uuid.NewString()}, http.StatusNotFound, "does not exist"},
	} {
		t.Run(name, func(t *testing.T) {
			b.post(path, recordForm(box, uuid.NewString(), row.change...)).says(row.status, row.says)
		})
	}
	if _, box := c.boxNamed("Q13"); len(box.Openings) != 1 {
		t.Errorf("%d openings, want the first alone", len(box.Openings))
	}
}

func TestRecordLeftShut(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q23")
	b := c.as("Brida")
	b.follow("/hive/"+itoa(h.ID)+"/record", recordForm(box, uuid.NewString(), "joint", "", "shut", "yes")).says(http.StatusOK, "Left shut.")
	_, box = c.boxNamed("Q23")
	if o := box.OpeningOn(today); o == nil || !o.LeftShut || o.Difficulty() != scheduler.Stuck {
		t.Errorf("got %+v", o)
	}
}

func TestRecordWholeHiveByMail(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	path := c.act(notify.RecordDeed, "Brida", v)
	b := c.stranger()
	page := b.get(path).says(http.StatusOK, "Whole hive, no trouble")
	page.hides("4711", "/hive/")
	whole := fields("whole", "yes", "hive", page.field("hive"), "on", today.String(), "base", page.field("base"), "scraped", "all")
	for range 2 { // a second tap before the first answer came
		b.follow(path, whole).says(http.StatusOK, "Quarry hive 1 is recorded.", "Record Quarry hive 2")
	}
	n := 0
	for _, a := range c.club().Apiaries {
		for _, h := range a.Hives {
			for _, box := range h.Boxes {
				if o := box.OpeningOn(today); o != nil {
					n++
				}
				if len(box.Openings) > 2 {
					t.Errorf("%s has %d openings", box.Name, len(box.Openings))
				}
			}
		}
	}
	if n == 0 || n >= len(v.Boxes) {
		t.Errorf("%d boxes recorded of the %d of two hives", n, len(v.Boxes))
	}
	// The address is good for its visit's apiary alone.
	_, other := c.boxNamed("O13")
	b.post(path, recordForm(other, uuid.NewString())).says(http.StatusNotFound)
}

// TestOldNotebook: what the document takes, the form and the mailed address
// take too, on the very first day that a record may carry.
func TestOldNotebook(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID) + "/record"
	tooEarly := (scheduler.MinDate - 1).String()
	for _, day := range []scheduler.Date{scheduler.MinDate, today - 30*scheduler.HorizonDays} {
		b.get(path+"?on="+day.String()).says(http.StatusOK, "opened on "+day.Format("Monday 2 January 2006"))
		b.follow(path, recordForm(box, uuid.NewString(), "on", day.String())).says(http.StatusOK, "Saved.")
		if _, box := c.boxNamed("Q13"); box.OpeningOn(day) == nil {
			t.Errorf("an opening of %s is not there", day)
		}
	}
	for _, day := range []string{tooEarly, (today + 1).String()} {
		b.get(path+"?on="+day).says(http.StatusOK, "opened on "+today.Format("Monday 2 January 2006"))
		b.post(path, recordForm(box, uuid.NewString(), "on", day)).says(http.StatusUnprocessableEntity, "Not that day")
	}
	mailed := c.act(notify.OpenedDeed, "Brida", c.visit("Quarry"))
	c.stranger().post(mailed, fields("on", tooEarly)).says(http.StatusUnprocessableEntity, "Which day?")
	c.stranger().post(mailed, fields("on", scheduler.MinDate.String())).says(http.StatusOK, "without trouble")
}
