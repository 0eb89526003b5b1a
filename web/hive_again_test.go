package web

import (
	"net/http"
	"strings"
	"testing"
)

// TestHiveFormsComeBack: a refused form of a hive's page comes back on that
// page as it was filled in, with what is wrong on top and at the field.
func TestHiveFormsComeBack(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	other := ""
	for _, a := range c.club().Apiaries {
		for _, hive := range a.Hives {
			if hive.ID != h.ID && a.Hive(h.ID) != nil {
				other = hive.Name
			}
		}
	}
	sibling := h.Boxes[0].Name
	if sibling == box.Name {
		sibling = h.Boxes[1].Name
	}
	path, id := "/hive/"+itoa(h.ID), itoa(box.ID)
	b := c.as("Brida")
	late := (today + 3).String()
	for _, tt := range []struct {
		name, deed string
		form       []string
		wrong      string
		kept       []string
	}{
		{"a box without a mark", "box-add", []string{"name", "  ", "kind", "medium", "where", "bottom", "set_up_on", today.String()}, "must not be empty", []string{`value="medium" selected`, `value="bottom" selected`}},
		{"a mark of the hive's", "box-add", []string{"name", strings.ToLower(box.Name), "kind", "medium", "set_up_on", today.String()}, box.Name + " is another box of this hive", []string{`value="` + strings.ToLower(box.Name) + `"`}},
		{"another box's mark", "box-save", []string{"box", id, "name", sibling, "kind", "medium"}, sibling + " is another box of this hive", []string{`value="` + sibling + `"`}},
		{"a box to come", "box-add", []string{"name", "Z9 & sons", "kind", "deep", "set_up_on", late}, "is still to come", []string{`name="name" value="Z9 &amp; sons"`, `value="` + late + `"`}},
		{"another hive's name", "save", []string{"name", other, "bee_space", ""}, "", []string{`name="name" value="` + other + `"`}},
		{"a mark too long", "box-save", []string{"box", id, "name", "Q13 with a very long mark that no brush would ever paint", "kind", "medium"}, "up to 40 are allowed", []string{"no brush would ever paint", `value="medium" selected`}},
		{"moved to nowhere", "box-move", []string{"box", id, "to", "", "on", today.String(), "lent_to", "Ulf from the mill"}, "", []string{`value="Ulf from the mill"`}},
		{"lent on a day to come", "box-move", []string{"box", id, "to", "lent", "on", late, "lent_to", "Ulf"}, "is still to come", []string{`value="lent" selected`, `value="Ulf"`}},
		{"a repair to come", "repaired", []string{"box", id, "on", late}, "is still to come", []string{`value="` + late + `"`}},
		{"alone from the last day on", "leave", []string{"from", today.String(), "until", (today - 1).String(), "reason", "queen cells"}, "before the first", []string{`value="queen cells"`}},
		{"a hive without a name", "save", []string{"name", "", "bee_space", "top"}, "must not be empty", []string{`value="top" selected`}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			before := b.get(path).text()
			got := b.post(path+"/"+tt.deed, fields(tt.form...)).says(http.StatusUnprocessableEntity, "Not saved yet.", h.Name, tt.wrong)
			for _, markup := range append(tt.kept, `role="alert" tabindex="-1" autofocus`, `<p class="wrong" role="alert">`) {
				got.holds(markup)
			}
			if b.get(path).text() != before {
				t.Error("something was saved")
			}
		})
	}
}

// TestNoHiveGetsTwoBoxesOfOneMark, neither by a move nor out of the store: the form
// comes back as it was filled in.
func TestNoHiveGetsTwoBoxesOfOneMark(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Brida")
	h, box := c.boxNamed("Q13")
	to, q21 := c.boxNamed("Q21")
	path, there := hivePath(h.ID), hivePath(to.ID)
	b.follow(there+"/box-save", fields("box", itoa(q21.ID), "name", "q13", "kind", q21.Kind)).says(http.StatusOK, "Saved")
	const refused = "A box of that hive has the same mark"
	b.post(path+"/box-move", fields("box", itoa(box.ID), "to", "hive-"+itoa(to.ID), "where", "bottom", "on", today.String())).
		says(http.StatusUnprocessableEntity, "Not saved yet.", refused).
		holds(`<option value="hive-` + itoa(to.ID) + `" selected>`).holds(`value="bottom" selected`)
	b.follow(path+"/box-move", fields("box", itoa(box.ID), "to", "store", "on", today.String())).says(http.StatusOK)
	b.post(there+"/box-back", fields("box", itoa(box.ID), "where", "bottom", "on", today.String())).
		says(http.StatusUnprocessableEntity, "Not saved yet.", refused).
		holds(`<option value="` + itoa(box.ID) + `" selected>`).holds(`value="bottom" selected`)
	if now, _ := c.boxNamed("q13"); len(now.Boxes) != len(to.Boxes) {
		t.Errorf("%s has %d boxes, want %d", to.Name, len(now.Boxes), len(to.Boxes))
	}
	b.follow(path+"/box-back", fields("box", itoa(box.ID), "where", "top", "on", today.String())).says(http.StatusOK, "on the hive")
}
