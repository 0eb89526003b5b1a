package web

import (
	"net/url"
	"strings"
	"testing"

	"pryday/scheduler"
)

// marksForm is the list as its page has it, with other marks for some boxes.
func marksForm(page *answer, boxes []scheduler.Box, pairs ...string) url.Values {
	page.t.Helper()
	form := url.Values{}
	for _, b := range boxes {
		form.Set(markField(b.ID), page.field(wasField(b.ID)))
		form.Set(wasField(b.ID), page.field(wasField(b.ID)))
		for i := 0; i < len(pairs); i += 2 {
			if pairs[i] == b.Name {
				form.Set(markField(b.ID), pairs[i+1])
			}
		}
	}
	return form
}

// boxesAt are the boxes that stand at an apiary.
func (c *testClub) boxesAt(apiary string) []scheduler.Box {
	var out []scheduler.Box
	a := c.club().ApiaryNamed(apiary)
	for i := range a.Hives {
		out = append(out, a.Hives[i].Boxes...)
	}
	return out
}

// TestMarksInOneList gives many boxes new marks at once.
func TestMarksInOneList(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	quarry := c.club().ApiaryNamed("Quarry")
	path := "/apiary/" + itoa(quarry.ID)
	brida := c.as("Brida")
	boxes := c.boxesAt("Quarry")
	_, q11 := c.boxNamed("Q11")
	_, q12 := c.boxNamed("Q12")
	_, q13 := c.boxNamed("Q13")
	visit := c.visit("Quarry")
	calendar := c.feedOf("Brida")

	brida.get(path).says(200).holds(`href="` + path + `/marks"`)
	page := brida.get(path+"/marks").says(200, "Painted marks at Quarry", "Q11", quarry.Hives[0].Name)
	c.stranger().get(calendar).says(200)

	// In a ring, and one with a name of its own.
	said := brida.follow(path+"/marks", marksForm(page, boxes, "Q11", "Q12", "Q12", "Q13", "Q13", "Q11"))
	said.says(200, "3 marks are changed", "Q11 is now Q12", "Q13 is now Q11")
	for id, want := range map[int64]string{q11.ID: "Q12", q12.ID: "Q13", q13.ID: "Q11"} {
		brida.get(boxPath(id)).says(200, "Box "+want)
	}
	_, now := c.boxNamed("Q12")
	if now.ID != q11.ID || len(now.Openings) != len(q11.Openings) || now.SetUpOn != q11.SetUpOn {
		t.Errorf("the box that was Q11 is now %+v", now)
	}
	if was := c.visitByUID(visit.UID); was.On != visit.On || len(was.Boxes) != len(visit.Boxes) {
		t.Errorf("the visit became %+v", was)
	}
	if got := c.stranger().get(calendar); !strings.Contains(got.body, "Q12") {
		t.Errorf("the calendar: %s", got.body)
	}
	c.as("Ansel").get("/audit").says(200, "change painted marks", "Q11 is now Q12", "Q12 is now Q13", "Q13 is now Q11")

	// Undone as a whole.
	said.takeBack(brida).says(200, "3 marks are changed", "Q12 is now Q11")
	if _, b := c.boxNamed("Q11"); b.ID != q11.ID {
		t.Error("taking it back gave Q11 to another box")
	}

	// Two change places with a third that gets a new one.
	page = brida.get(path + "/marks")
	brida.follow(path+"/marks", marksForm(page, boxes, "Q11", "Q12", "Q12", "Q11", "Q13", " K  7 ")).says(200, "3 marks are changed", "Q13 is now K 7")
	page = brida.get(path + "/marks")
	brida.follow(path+"/marks", marksForm(page, c.boxesAt("Quarry"))).says(200, "No mark was changed")

	c.as("Corin").post(path+"/marks", url.Values{}).says(403)
	c.as("Corin").get(path + "/marks").says(403)
	c.as("Dorrit").get(path + "/marks").says(404)
}

// TestMarksRefused: all of the list or nothing, and nothing typed is lost.
func TestMarksRefused(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	quarry := c.club().ApiaryNamed("Quarry")
	path := "/apiary/" + itoa(quarry.ID) + "/marks"
	ansel := c.as("Ansel")
	boxes := c.boxesAt("Quarry")
	_, q11 := c.boxNamed("Q11")
	elsewhere, _ := c.boxNamed("O11")
	stands := func() {
		t.Helper()
		for _, b := range boxes {
			for _, now := range c.boxesAt("Quarry") {
				if now.ID == b.ID && now.Name != b.Name {
					t.Errorf("%s is %s now", b.Name, now.Name)
				}
			}
		}
	}
	page := ansel.get(path)
	for _, row := range []struct {
		name   string
		typed  []string
		says   []string
		status int
	}{
		{"of another box of the list", []string{"Q11", "q12", "Q13", "N1"}, []string{"Two boxes of this list would be q12", "1 mark must be put right"}, 422},
		{"two new ones alike", []string{"Q11", "N1", "Q13", "n1"}, []string{"Two boxes of this list would be N1, this one and Q13", "2 marks must be put right"}, 422},
		{"of a box elsewhere", []string{"Q11", "O11", "Q13", "N1"}, []string{"O11 is a box on " + elsewhere.Name + ", Orchard", "no other box of the club"}, 422},
		{"empty", []string{"Q11", " ", "Q13", "N1"}, []string{"This must not be empty"}, 422},
		{"too long", []string{"Q11", strings.Repeat("x", 41), "Q13", "N1"}, []string{"41 characters; up to 40"}, 422},
		{"unseen", []string{"Q11", "\u200b", "Q13", "N1"}, []string{"Nothing of this can be seen"}, 422},
	} {
		got := ansel.post(path, marksForm(page, boxes, row.typed...)).says(row.status, row.says...)
		if got.holds(`aria-invalid="true"`); row.typed[3] != "" {
			got.holds(`value="` + row.typed[3] + `"`)
		}
		stands()
	}

	// Somebody else was faster: asked once more, with what was typed.
	c.as("Brida").follow(path, marksForm(page, boxes, "Q11", "K1"))
	got := ansel.post(path, marksForm(page, boxes, "Q11", "K2")).says(422, "called this box K1 meanwhile").holds(`value="K2"`)
	ansel.follow(path, marksForm(got, boxes, "Q11", "K2")).says(200, "K1 is now K2")
	// What was only shown in the list stays as the other named it.
	ansel.follow(path, marksForm(page, boxes, "Q13", "K3")).says(200, "1 mark is changed", "Q13 is now K3")
	if _, b := c.boxNamed("K2"); b == nil || b.ID != q11.ID {
		t.Error("the list gave back a mark that it only showed")
	}
	// A box that left the apiary meanwhile.
	form := marksForm(ansel.get(path), boxes, "Q11", "K9")
	h, _ := c.boxNamed("K2")
	ansel.follow("/hive/"+itoa(h.ID)+"/box-move", fields("box", itoa(q11.ID), "to", "store", "on", today.String()))
	form.Set(markField(q11.ID), "K9")
	ansel.post(path, form).says(422, "No box of this list is called K2").holds("K2\tK9")
}

// TestPastedMarks fills the list in from two columns of a spreadsheet.
func TestPastedMarks(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	path := "/apiary/" + itoa(c.club().ApiaryNamed("Quarry").ID) + "/marks"
	boxes := c.boxesAt("Quarry")
	ansel := c.as("Ansel")
	_, q11 := c.boxNamed("Q11")
	_, q13 := c.boxNamed("Q13")

	form := marksForm(ansel.get(path), boxes)
	form.Set("paste", "Q11\tQ13\r\nq13\tQ11\r\n\r\nQ99\tX\r\nno columns\r\nQ11\tY\r\n")
	form.Set("fill", "yes")
	got := ansel.post(path, form).says(422, "3 lines of the list do not fit", "Line 4: No box of this list is called Q99",
		"Line 5: &#34;no columns&#34; is not", "Line 6: Q11 has two new marks, Q13 and Y").holds("Q99\tX\nno columns\nQ11\tY</textarea>")
	form = marksForm(got, boxes)
	for _, b := range []scheduler.Box{*q11, *q13} {
		form.Set(markField(b.ID), map[int64]string{q11.ID: "Q13", q13.ID: "Q11"}[b.ID])
		got.holds(`name="` + markField(b.ID) + `" value="` + form.Get(markField(b.ID)) + `"`)
	}
	form.Set("fill", "yes")
	ansel.post(path, form).says(200, "2 new marks are filled in")
	if _, b := c.boxNamed("Q11"); b.ID != q11.ID {
		t.Error("filling in saved already")
	}
	form.Del("fill")
	ansel.follow(path, form).says(200, "2 marks are changed")

	// Saved at once without filling in first.
	form = marksForm(ansel.get(path), boxes)
	form.Set("paste", "Q12\tN12")
	ansel.follow(path, form).says(200, "Q12 is now N12")
}

// TestMarksOfSpareBoxes are an organiser's, for the whole club.
func TestMarksOfSpareBoxes(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	ansel.get("/boxes/marks").says(200)
	for _, name := range []string{"Q13", "O11"} {
		h, b := c.boxNamed(name)
		ansel.follow("/hive/"+itoa(h.ID)+"/box-move", fields("box", itoa(b.ID), "to", "store", "on", today.String())).says(200)
	}
	spare := []scheduler.Box{}
	for _, b := range c.club().Spare {
		if b.RetiredOn == 0 {
			spare = append(spare, b)
		}
	}
	ansel.get("/apiaries").holds(`href="/boxes/marks"`)
	page := ansel.get("/boxes/marks").says(200, "Q13", "O11", "in store")
	ansel.follow("/boxes/marks", marksForm(page, spare, "Q13", "O11", "O11", "Q13")).says(200, "2 marks are changed")
	page = ansel.get("/boxes/marks")
	ansel.post("/boxes/marks", marksForm(page, spare, "Q13", "Q11")).says(422, "Q11 is a box on")
	c.as("Brida").get("/boxes/marks").says(403)
	c.as("Brida").post("/boxes/marks", url.Values{}).says(403)
	if got := c.as("Brida").get("/apiaries"); strings.Contains(got.body, "/boxes/marks") {
		t.Error("a keeper is shown the way to the organiser's list")
	}
}

// TestMarksInGerman, with what is wrong.
func TestMarksInGerman(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	path := "/apiary/" + itoa(c.club().ApiaryNamed("Quarry").ID) + "/marks"
	boxes := c.boxesAt("Quarry")
	page := c.inBoth("Ansel", path).says(200, "Zeichen der Zargen: Quarry", "Neues Zeichen von")
	c.inBoth("Ansel", "/boxes/marks").says(200, "Zeichen der Zargen im Lager oder verliehen")
	form := marksForm(page, boxes, boxes[0].Name, boxes[1].Name, boxes[2].Name, "O11")
	form.Set("paste", "X\tY\nZ")
	c.as("Ansel").post(path, form).says(422, "Zwei Zargen dieser Liste hießen dann", "O11 heißt schon eine Zarge auf", "Keine Zarge dieser Liste heißt X").inGerman()
	c.as("Ansel").follow(path, marksForm(page, boxes, boxes[0].Name, "N1")).says(200, "1 Zeichen ist geändert", "heißt jetzt N1").inGerman()
}
