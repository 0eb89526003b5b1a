package web

import (
	"encoding/json"
	"image/color"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// lateForm is the form of a hive that waited on somebody's phone.
func (c *testClub) lateForm(who string, hive int64, pairs ...string) url.Values {
	return fields(append([]string{"hive", itoa(hive), "on", today.String(), "base", uuid.NewString(), "late", "yes", "who", itoa(c.member[who])}, pairs...)...)
}

// TestTwoPhonesRecordedABoxWithoutASignal: both are kept, the harder counts, and
// the page asks to settle it.
func TestTwoPhonesRecordedABoxWithoutASignal(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path, of := "/hive/"+itoa(h.ID)+"/record", fieldsOf(box.ID)
	a, b := c.as("Ansel"), c.as("Brida")
	hard, light := c.lateForm("Ansel", h.ID, of+"joint", "3"), c.lateForm("Brida", h.ID, of+"joint", "1")
	for range 2 { // the answer was lost on the way
		a.post(path, hard).says(http.StatusSeeOther)
		b.post(path, light).says(http.StatusSeeOther)
	}
	_, box = c.boxNamed("Q13")
	if o := box.OpeningOn(today); len(box.Openings) != 3 || o.Joint != scheduler.Hard || o.By != c.member["Ansel"] {
		t.Fatalf("%d openings, and %+v stands", len(box.Openings), box.OpeningOn(today))
	}
	got := b.get(path).says(http.StatusOK, "Two people recorded this box on this day", "Recorded by Brida")
	if n := len(box.OpeningsOn(today)); n != 2 {
		t.Fatalf("%d stand", n)
	}
	wrong := box.OpeningsOn(today)[1].ID
	got.holds(`name="supersedes" value="` + wrong + `"><button class="quiet" name="void"`)
	b.follow(path, fields("id", uuid.NewString(), "box", itoa(box.ID), "on", today.String(), "supersedes", wrong, "void", "yes")).hides("Two people recorded")
}

// TestLateRecordsInAnyOrder: whatever order the records of two phones and their
// photos arrive in, and however often, the same counts and the same days follow, and
// each photo is with the record that it was taken with.
func TestLateRecordsInAnyOrder(t *testing.T) {
	t.Parallel()
	lots := testrun.Rand(t)
	rounds := 3
	if testrun.Soak() {
		rounds = 40
	}
	for range rounds {
		c := serveClub(t)
		h, _ := c.boxNamed("Q13")
		path := "/hive/" + itoa(h.ID) + "/record"
		type sent struct {
			by    string
			form  url.Values
			photo string // its id; else it is a record
		}
		var queue []sent
		for _, by := range []string{"Ansel", "Brida"} {
			for _, name := range []string{"Q13", "Q12", "Q11"} {
				_, box := c.boxNamed(name)
				joint := []string{"0", "1", "2", "3", "4", leftShut}[lots.IntN(6)]
				record := c.lateForm(by, h.ID, fieldsOf(box.ID)+"joint", joint, fieldsOf(box.ID)+"scraped", []string{"all", "none"}[lots.IntN(2)])
				queue = append(queue, sent{by: by, form: record})
				for range lots.IntN(3) {
					queue = append(queue, sent{by, fields("photo-of", itoa(box.ID), "hive", itoa(h.ID), "on", today.String(), "late", "yes", "who", itoa(c.member[by]), "base", record.Get("base")), uuid.NewString()})
				}
			}
		}
		queue = append(queue, queue[lots.IntN(len(queue))]) // once more
		type outcome struct {
			joint scheduler.Difficulty
			shut  bool
			by    int64

			photos string // their ids by their openings
		}
		shot := picture(t, 16, 12, color.White)
		play := func(c *testClub) (map[string]outcome, string) {
			lots.Shuffle(len(queue), func(i, j int) { queue[i], queue[j] = queue[j], queue[i] })
			phones, rest := map[string]*browser{"Ansel": c.as("Ansel"), "Brida": c.as("Brida")}, slices.Clone(queue)
			arrived := map[string]bool{} // records, by the bases of their forms
			for len(rest) > 0 {
				s := rest[0]
				rest = rest[1:]
				switch {
				case s.photo == "":
					phones[s.by].post(path, s.form).says(http.StatusSeeOther)
					arrived[s.form.Get("base")] = true
				case !arrived[s.form.Get("base")]: // a phone sends it after its record
					rest = append(rest, s)
				default:
					phones[s.by].latePhoto(path, s.photo, s.form, shot).says(http.StatusCreated)
				}
			}
			counts := map[string]outcome{}
			for _, name := range []string{"Q13", "Q12", "Q11"} {
				_, box := c.boxNamed(name)
				o := box.OpeningOn(today)
				var photos []string
				for _, p := range c.photosOf(box.ID) {
					photos = append(photos, p.OpeningID+" "+p.ID)
				}
				slices.Sort(photos)
				counts[name] = outcome{o.Joint, o.LeftShut, o.By, strings.Join(photos, ", ")}
			}
			plan := c.visit("Quarry")
			out, err := json.Marshal(plan.Boxes)
			if err != nil {
				t.Fatal(err)
			}
			return counts, plan.On.String() + string(out)
		}
		first, plan := play(c)
		again, samePlan := play(serveClub(t))
		for name := range first {
			if first[name] != again[name] {
				t.Errorf("%s: %+v, and in another order %+v", name, first[name], again[name])
			}
		}
		if plan != samePlan {
			t.Errorf("planned %s, and in another order %s", plan, samePlan)
		}
	}
}

func TestLateRecordsRefused(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	elsewhere, moved := c.boxNamed("O13")
	path, of := "/hive/"+itoa(h.ID)+"/record", fieldsOf(box.ID)
	b := c.as("Brida")
	for name, row := range map[string]struct {
		who    string
		pairs  []string
		status int
		says   string
	}{
		"somebody else's":             {"Ansel", []string{of + "joint", "1"}, http.StatusForbidden, "Somebody else recorded this on this phone."},
		"a box of another apiary":     {"Brida", []string{fieldsOf(moved.ID) + "joint", "1"}, http.StatusConflict, "does not stand at Quarry any more"},
		"a day that is to come":       {"Brida", []string{"on", (today + 1).String(), of + "joint", "1"}, http.StatusUnprocessableEntity, "days up to today"},
		"a hive of another apiary":    {"Brida", []string{"hive", itoa(elsewhere.ID), of + "joint", "1"}, http.StatusNotFound, "does not exist"},
		"no degree, but a note of it": {"Brida", []string{of + "note", "sticky"}, http.StatusUnprocessableEntity, "Q13: Say how the joint came open"},
	} {
		t.Run(name, func(t *testing.T) {
			form := c.lateForm(row.who, h.ID)
			for i := 0; i < len(row.pairs); i += 2 {
				form.Set(row.pairs[i], row.pairs[i+1])
			}
			got := b.send("POST", path, form, map[string]string{"Accept": problemJSON})
			var problem struct {
				Status int
				Detail string
			}
			if err := json.Unmarshal([]byte(got.body), &problem); err != nil || got.header.Get("Content-Type") != problemJSON {
				t.Fatalf("%v: %s", err, got.body)
			}
			got.says(row.status, row.says)
			if problem.Status != row.status || problem.Detail == "" {
				t.Errorf("%+v", problem)
			}
		})
	}
	if c.recordedOf(h.ID) != 0 {
		t.Error("something refused was recorded")
	}
}

// A box that went to another hive of the apiary meanwhile is recorded where it
// stands.
func TestLateRecordOfAMovedBox(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	from, _ := c.boxNamed("Q13")
	to, box := c.boxNamed("Q21")
	c.as("Brida").post("/hive/"+itoa(from.ID)+"/record", c.lateForm("Brida", from.ID, fieldsOf(box.ID)+"joint", "2")).says(http.StatusSeeOther)
	if got := c.recordedOf(to.ID); got != 1 {
		t.Errorf("%d boxes of %s are recorded", got, to.Name)
	}
}

// TestSureIsOfOneQuestion: "yes, it is right" to one question is no answer to
// that whether to save instead of what somebody recorded meanwhile.
func TestSureIsOfOneQuestion(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	c.as("Ansel").follow(path, recordForm(box, uuid.NewString(), "joint", "3", "sure", "yes"))
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), fieldsOf(box.ID)+"joint", "2", "sure", "yes")
	c.as("Brida").post(path, form).says(http.StatusUnprocessableEntity, "recorded for this day already")
	c.as("Brida").post(path, recordForm(box, uuid.NewString(), "joint", "2", "sure", "yes")).says(http.StatusUnprocessableEntity, "recorded for this day already")
}
