package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

func TestBoxHasAPageWhereverItIs(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	to, _ := c.boxNamed("Q21")
	b := c.as("Brida")
	hive, path := "/hive/"+itoa(h.ID), boxPath(box.ID)
	b.get(path).says(http.StatusOK, "Box Q13", "Quarry hive 1, Quarry, box 3 from the bottom", "firm", "9 May 2026", "Firm last time", "Next opened on", "Set up on 10 April 2025", "No gap has been measured", "Change the box")
	c.as("Corin").get(path).says(http.StatusOK, "Box Q13").hides("Change the box")

	b.follow(hive+"/record", recordForm(box, uuid.NewString(), "joint", "4", "condition", "warped", "note", "Like toffee", "gap-at-0", "above-frames", "gap-size-0", "5 mm")).says(http.StatusOK)
	b.get(path).says(http.StatusOK, "stuck", "1 June 2027", "Like toffee", "above the frames", "Warped").holds(`id="on-2027-06-01"`)
	b.follow(hive+"/repaired", fields("box", itoa(box.ID), "on", today.String())).says(http.StatusOK)
	b.get(path).says(http.StatusOK, "Repaired on 1 June 2027")

	b.follow(hive+"/box-move", fields("box", itoa(box.ID), "to", "hive-"+itoa(to.ID), "where", "bottom", "on", today.String())).says(http.StatusOK)
	b.get(path).says(http.StatusOK, "Quarry hive 2, Quarry, box 1 from the bottom", "since 10 April 2025", "since 1 June 2027")
	other := "/hive/" + itoa(to.ID)
	b.follow(other+"/box-move", fields("box", itoa(box.ID), "to", "store", "on", today.String())).says(http.StatusOK)
	b.get(path).says(http.StatusOK, "In store", "stuck", "Like toffee").hides("Next opened on", "Record an opening")
	b.follow(other+"/box-back", fields("box", itoa(box.ID), "where", "top", "on", today.String())).says(http.StatusOK)
	b.follow(other+"/box-move", fields("box", itoa(box.ID), "to", "lent", "lent_to", "the neighbour", "until", "2027-09-01", "on", today.String())).says(http.StatusOK)
	b.get(path).says(http.StatusOK, "Lent to the neighbour, back by 1 September 2027")
}

func TestBoxThatNeverStoodOnAHive(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	var id int64
	c.in(func(tx *store.Tx) (err error) {
		id, _, err = tx.AddBox(context.Background(), 0, 0, scheduler.Box{Name: "NEW-1", Kind: "deep", SetUpOn: today - 5}, today)
		return err
	})
	c.as("Corin").get(boxPath(id)).says(http.StatusOK, "Box NEW-1", "In store", "since 27 May 2027", "Nothing is recorded yet.")
	c.as("Dorrit").get(boxPath(id)).says(http.StatusNotFound)
	c.as("Corin").get(boxPath(id + 1)).says(http.StatusNotFound)
}

// Of the gaps the page has a table, and a drawing once a place was measured on
// two days.
func TestBoxShowsItsGapsOverTime(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.id = c.importClub(wordlessClub())
	_, box := c.boxNamed("Q11")
	got := c.as("Ansel").get(boxPath(box.ID))
	got.says(http.StatusOK, "above the frames", "Bee space is 7.9 mm to 9.5 mm").holds(`class="gap-line"`)
	rows := tableRows(t, got.body, "gaps")
	if len(rows) != 4 || !strings.HasPrefix(rows[1][1], "5 mm") || !strings.HasPrefix(rows[3][1], "8 mm") {
		t.Errorf("the table has %q", rows)
	}
}

// An opening of which only the frames were graded says nothing of the joint.
func TestWhatWasNotTriedIsNotSaid(t *testing.T) {
	p := &apiaryRecords{say: text.In("en", "")}
	for _, c := range []struct {
		o    scheduler.Opening
		want string
	}{
		{scheduler.Opening{Joint: scheduler.NotTried, Frames: scheduler.Light, Scraped: scheduler.ScrapedAll}, "Worst frame light: tool at one end."},
		{scheduler.Opening{Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}, "Joint light: one corner, one twist of the hive tool."},
	} {
		if got := p.openingLines(&c.o); len(got) != 2 || got[0] != c.want {
			t.Errorf("says %q, want %q and what was scraped", got, c.want)
		}
	}
}
