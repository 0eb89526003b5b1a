package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"pryday/scheduler"
)

// tableRows are the texts of the cells of the first table of a class, row by row.
func tableRows(t *testing.T, body, class string) [][]string {
	t.Helper()
	page, err := html.Parse(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	var table *html.Node
	for n := range page.Descendants() {
		if n.Data == "table" && table == nil && slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == "class" && a.Val == class }) {
			table = n
		}
	}
	if table == nil {
		t.Fatalf("no table %s", class)
	}
	var rows [][]string
	for n := range table.Descendants() {
		switch n.Data {
		case "tr":
			rows = append(rows, nil)
		case "th", "td":
			rows[len(rows)-1] = append(rows[len(rows)-1], heard(n))
		}
	}
	return rows
}

// heard is what is read out of a node.
func heard(n *html.Node) string {
	if slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == "aria-hidden" }) {
		return ""
	}
	if n.Type == html.TextNode {
		return n.Data
	}
	var out []string
	for c := range n.ChildNodes() {
		if s := strings.TrimSpace(heard(c)); s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, " ")
}

// The picture of a hive is a table: its boxes from the top down, the days from
// the oldest on, the next visit and the day by which to open behind.
func TestHiveIsDrawnAsATable(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	to, _ := c.boxNamed("Q21")
	_, lowest := c.boxNamed("Q11")
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID)
	b.follow(path+"/record", recordForm(lowest, uuid.NewString(), "joint", "3", "sure", "yes")).says(http.StatusOK)
	b.follow(path+"/box-move", fields("box", itoa(box.ID), "to", "hive-"+itoa(to.ID), "where", "top", "on", today.String())).says(http.StatusOK, "other hive now")

	rows := tableRows(t, b.get(path).body, "grid")
	if !slices.Equal(rows[0], []string{"", "2026", "2027", "next visit", "open by"}) || !slices.Contains(rows[2], "9 May 2026") || !slices.Contains(rows[2], "1 June 2027") {
		t.Errorf("the head has %q", rows[:3])
	}
	for i, want := range [][]string{{"Q12 deep", "light", ""}, {"Q11 deep", "loose", "hard"}, {"No longer here"}, {"Q13 deep", "firm", ""}} {
		if got := rows[3+i]; len(got) < len(want) || !slices.Equal(got[:len(want)], want) {
			t.Errorf("row %d has %q, want it to begin with %q", i, got, want)
		}
	}
	if chance, due := rows[3][3], rows[3][4]; chance == "" || due == "" {
		t.Errorf("the next visit opens Q12 at a chance of %q, by %q", chance, due)
	}
	// On its new hive the box brings its history along, marked as found elsewhere.
	rows = tableRows(t, b.get("/hive/"+itoa(to.ID)).body, "grid")
	if got := rows[3]; got[0] != "Q13 deep" || got[1] != "firm, on another hive" {
		t.Errorf("the new hive has %q on top", got)
	}
	b.get(path).says(http.StatusOK, "0", "loose", "3", "hard")
}

func TestHiveShowsItsLatestDays(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	club := quarryClubOf("long-")
	box := &club.Apiaries[1].Hives[0].Boxes[0]
	box.Openings = nil
	for i := range scheduler.Date(gridDays + 3) {
		box.Openings = append(box.Openings, scheduler.Opening{
			ID: uuid.NewString(), On: scheduler.NewDate(2025, 5, 1) + 10*i, Joint: scheduler.Light, Frames: scheduler.NotTried, LeftShut: i == 20, Scraped: scheduler.ScrapedAll,
		})
	}
	c.id = c.importClub(club)
	h, _ := c.boxNamed("Q11")
	got := c.as("Ansel").get("/hive/" + itoa(h.ID))
	got.says(http.StatusOK, "4 older days are not shown", "left shut") // 9 May 2026 of the boxes above is one more
	if days := tableRows(t, got.body, "grid")[2]; len(days) != gridDays+1 {
		t.Errorf("%d days are shown, want %d and the next visit", len(days), gridDays)
	}
}

// Openings beyond those listed are said to be there; the export only to whoever
// has it.
func TestHiveSaysThatThereAreOlderOpenings(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	club := quarryClubOf("older-")
	box := &club.Apiaries[1].Hives[0].Boxes[0]
	for i := range scheduler.Date(historyLines) {
		box.Openings = append(box.Openings, scheduler.Opening{ID: uuid.NewString(), On: scheduler.NewDate(2024, 5, 1) + 10*i, Joint: scheduler.Light, Frames: scheduler.NotTried})
	}
	c.id = c.importClub(club)
	h, _ := c.boxNamed("Q11")
	c.as("Ansel").get("/hive/"+itoa(h.ID)).says(http.StatusOK, "not shown here: the export has")
	c.as("Brida").get("/hive/"+itoa(h.ID)).says(http.StatusOK, "not shown here.").hides("the export has")
}

// TestChartMakesRoomForTheLimit: whatever the limit, a chance half as great and one
// twice as great lie well apart from it.
func TestChartMakesRoomForTheLimit(t *testing.T) {
	for _, limit := range []float64{0.05, 0.1, 0.2, 0.33} {
		at := chartY(limit)
		if below, above := chartY(limit/2)-at, at-chartY(min(2*limit, oddsMost)); below < labelApart || above < labelApart {
			t.Errorf("around %v: half lies %d units below, twice %d above", limit, below, above)
		}
	}
	if chartY(0) != chartY(oddsLeast) || chartY(1) != chartY(oddsMost) {
		t.Error("a chance beyond the scale is drawn beyond it")
	}
}
