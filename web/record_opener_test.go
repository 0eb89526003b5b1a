package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// TestOpenedBySomebodyElse: who opened a box is kept apart from who wrote it down,
// through corrections of whomever, and said only where they differ.
func TestOpenedBySomebodyElse(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	ansel, brida := c.as("Ansel"), c.as("Brida")
	member := func(name string) int64 {
		for _, m := range c.club().Members {
			if strings.HasPrefix(m.Name, name) {
				return m.ID
			}
		}
		t.Fatalf("no member %s", name)
		return 0
	}
	path, page := "/hive/"+itoa(h.ID)+"/record", "/hive/"+itoa(h.ID)
	last := func() *scheduler.Opening {
		_, b := c.boxNamed("Q13")
		return b.OpeningOn(today)
	}
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), fieldsOf(box.ID)+"joint", "1")
	with := func(by, name string) {
		form.Set("opened_by", by)
		form.Set("opened_by_name", name)
	}

	for _, wrong := range []struct{ by, name, says string }{
		{"name", "", "Say the name of who opened"},
		{"name", "tam@example.org", "is an address"},
		{itoa(member("Brida")), "Old Tam", "Who opened: Brida"},
		{"99999", "", "no member any more"},
		{"", strings.Repeat("x", maxOpener+1), "characters; up to 200"},
	} {
		with(wrong.by, wrong.name)
		got := ansel.post(path, form).says(http.StatusUnprocessableEntity, "Not saved yet.", wrong.says)
		if got.field("opened_by_name") != wrong.name || last() != nil {
			t.Errorf("%q, %q: comes back as %q; saved %+v", wrong.by, wrong.name, got.field("opened_by_name"), last())
		}
	}

	with("", "Old  Tam")
	ansel.follow(path, form).says(http.StatusOK, "Opened by Old Tam, written down by Ansel")
	ansel.follow(path, form)
	if o := last(); o == nil || o.By != member("Ansel") || o.OpenedBy() != (scheduler.Opener{Name: "Old Tam"}) {
		t.Fatalf("recorded %+v", o)
	}
	ansel.get("/audit").says(http.StatusOK, "write down for another", "Q13", "opened by Old Tam, written down by Ansel")
	ansel.get("/records/file?as=csv").says(http.StatusOK, ",Old Tam")

	// Brida corrects it, by a form of before that question: it is still Tam's.
	correct := fields("box", itoa(box.ID), "id", uuid.NewString(), "on", today.String(), "joint", "2", "supersedes", last().ID)
	brida.follow(path, correct)
	if o := last(); o.By != member("Brida") || o.Joint != scheduler.Firm || o.OpenedBy() != (scheduler.Opener{Name: "Old Tam"}) {
		t.Errorf("corrected to %+v", o)
	}
	brida.get(page).says(http.StatusOK, "opened by Old Tam, written down by Brida")
	// By today's form it stands there, and can be put right: it was Ansel.
	brida.get(path + "?on=" + today.String()).holds(`value="name" selected`).holds(`value="Old Tam"`)
	correct = fields("box", itoa(box.ID), "id", uuid.NewString(), "on", today.String(), "joint", "2", "supersedes", last().ID, "opened_by", itoa(member("Ansel")))
	brida.follow(path, correct).says(http.StatusOK, "Opened by Ansel")
	if o := last(); o.OpenedBy() != (scheduler.Opener{Member: member("Ansel")}) {
		t.Errorf("corrected to %+v", o)
	}
	// Ansel corrects his own: nobody else to name.
	correct = fields("box", itoa(box.ID), "id", uuid.NewString(), "on", today.String(), "joint", "1", "supersedes", last().ID)
	ansel.follow(path, correct)
	if o := last(); o.Opener != nil || o.By != member("Ansel") {
		t.Errorf("corrected to %+v", o)
	}
	ansel.get(page).says(http.StatusOK).hides("written down by")
}
