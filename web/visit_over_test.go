package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// TestAVisitThatIsOverAsksNothing: what was opened is no longer to be opened, whichever
// day its visit is planned on; what is left still is, while people are there.
func TestAVisitThatIsOverAsksNothing(t *testing.T) {
	t.Parallel()
	c, v := serveClub(t).stacks(2, 1)
	b, path := c.as("Edda"), visitPath(v.UID)
	asks := []string{"Boxes to open", "Why, box by box", "Take along", "Before every visit"}
	b.get(path).says(http.StatusOK, asks...).says(http.StatusOK, "S11 deep open", "S12 deep open", "S21 deep open")
	record := func(name string) {
		h, box := c.boxNamed(name)
		b.follow("/hive/"+itoa(h.ID)+"/record", recordForm(box, uuid.NewString()))
	}
	record("S11")
	record("S12")
	page := b.get(path).says(http.StatusOK, asks...).says(http.StatusOK, "S11 deep recorded", "S12 deep recorded", "S21 deep open")
	if n := strings.Count(page.text(), "Why, box by box"); n != 1 {
		t.Errorf("of two hives, one of which is done, %d say why", n)
	}
	b.get(path+"/record").says(http.StatusOK, "Take care")

	record("S21")
	now := c.visitByUID(v.UID)
	if now.Status != scheduler.Done || now.On == today {
		t.Fatalf("it is %s on %s", now.Status, now.On)
	}
	b.get(path).says(http.StatusOK, "Boxes of this visit", "S21 deep recorded", "Recorded today by you: 3 boxes").hides(append(asks, "deep open", "Heavy:", "Nobody is going")...)
	b.get(path + "/record").hides("Take care").hides("Heavy:")
	c.speaks("Edda", "de")
	b.get(path).says(http.StatusOK, "Zargen dieses Besuchs").inGerman("Sandpit", "hive")

	c.speaks("Edda", "en")
	for _, later := range c.club().Visits {
		if later.Status.Open() {
			b.get(visitPath(later.UID)).says(http.StatusOK, "Boxes to open").hides("Recorded today by you")
		}
	}
}
