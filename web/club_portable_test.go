package web

import (
	"encoding/json"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store/records"
)

func TestRecordsGoOutAndComeBack(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	ansel.get("/records").says(200, "Import and export")
	document := ansel.get("/records/file")
	club, err := records.Parse([]byte(document.body))
	if err != nil || len(club.Apiaries) != 2 || len(club.Members) != 3 || !strings.HasPrefix(document.header.Get("Content-Disposition"), "attachment;") {
		t.Fatalf("the export: %v, %q", err, document.header.Get("Content-Disposition"))
	}
	ansel.upload("/records", "club.json", document.body, "do", "check").says(200, "All of it is there already")
	list := ansel.get("/records/file?as=csv")
	if !strings.HasPrefix(list.body, "apiary,hive,box,kind,opened_on,difficulty,scraped,note") {
		t.Errorf("the list begins %.80q", list.body)
	}

	more := "apiary,hive,box,opened_on,difficulty,scraped,note\nOrchard,Orchard hive 1,O11,2027-05-20,3,all,\"<b>two</b> people, \"\"heave\"\"\"\n"
	ansel.upload("/records", "more.csv", more, "do", "check").says(200, "It would add or change: 1 opening")
	box := func() scheduler.Box { return c.club().Apiaries[0].Hives[0].Boxes[0] }
	if n := len(box().Openings); n != 1 {
		t.Fatalf("checking a file recorded an opening: %d", n)
	}
	before := c.visit("Orchard")
	got := ansel.upload("/records", "more.csv", more, "do", "import")
	if got.status != 303 {
		t.Fatalf("import: %d %s", got.status, got.text())
	}
	ansel.get("/records").says(200, "Imported, new or changed: 1 opening")
	if b := box(); len(b.Openings) != 2 || b.Openings[1].Note != `<b>two</b> people, "heave"` || b.Openings[1].Difficulty() != scheduler.Hard {
		t.Errorf("openings of %s: %+v", b.Name, b.Openings)
	}
	if after := c.visit("Orchard"); after.On == before.On && len(after.Boxes) == len(before.Boxes) {
		t.Error("the visits were not planned anew")
	}
	ansel.upload("/records", "more.csv", more, "do", "import")
	ansel.get("/records").says(200, "All of it was there already")
	ansel.get("/audit").says(200, "import records", "more.csv: 1 opening")
}

func TestABrokenFileIsReportedWhole(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	before := ansel.get("/records/file").body
	for _, test := range []struct {
		name, file string
		fields     []string
		says       []string
	}{
		{
			"every wrong line of a list", "apiary,hive,box,opened_on,difficulty\nOrchard,Orchard hive 1,O11,2027-13-01,2\nOrchard,Orchard hive 1,O11,2027-05-02,9\nNowhere,Larch,R1,2027-05-02,2\n",
			nil,
			[]string{"Nothing was imported", "3 things are wrong", "line 2", "line 3", "line 4", "Nowhere"},
		},
		{"a box that is not there", "apiary,hive,box,opened_on,difficulty\nOrchard,Orchard hive 1,NEW,2027-05-02,2\n", nil, []string{"line 2", "NEW"}},
		{"a document", `{"club": {"name": "X", "members": []}, "apiaries": [{"name": "<s>Far</s>", "latitude": 99}]}`, nil, []string{"latitude", "99"}},
		{"no document at all", `{"club": `, nil, []string{"Nothing was imported", "line 1"}},
		{"not text", "apiary\xff\xfe", nil, []string{"UTF-8"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := ansel.upload("/records", "file<i>.json", test.file, test.fields...)
			got.t = t
			got.says(422, test.says...).hides("<s>Far", "<i>.json")
		})
	}
	ansel.upload("/records", "x.json", "").says(400, "Choose a file first")
	ansel.post("/records", fields("do", "import")).says(400, "without a file")
	if ansel.get("/records/file").body != before {
		t.Error("a refused file changed the records")
	}
	new := "apiary,hive,box,kind,opened_on,difficulty\nOrchard,New hive,N1,deep,2027-05-02,2\n"
	if got := ansel.upload("/records", "new.csv", new, "new_boxes", "yes", "do", "import"); got.status != 303 {
		t.Errorf("a list with new boxes: %d %s", got.status, got.text())
	}
}

// A document without rules leaves the club's as they are; its name counts only
// when asked for.
func TestADocumentLeavesTheClubItself(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	ansel.follow("/rules", ruleFormOf(c.rules().Rules, "2", "odds_limit", "0.11"))
	var document map[string]any
	if err := json.Unmarshal([]byte(ansel.get("/records/file").body), &document); err != nil {
		t.Fatal(err)
	}
	delete(document, "rules")
	document["club"].(map[string]any)["name"] = "Renamed"
	text, err := json.Marshal(document)
	if err != nil {
		t.Fatal(err)
	}
	ansel.upload("/records", "club.json", string(text), "do", "import")
	if club := c.club(); club.Name != "Old Mill Beekeepers" || club.Rules.OddsLimit != 0.11 {
		t.Errorf("name %q, limit %v", club.Name, club.Rules.OddsLimit)
	}
	ansel.upload("/records", "club.json", string(text), "do", "import", "rename", "yes")
	if club := c.club(); club.Name != "Renamed" || club.Rules.OddsLimit != 0.11 {
		t.Errorf("name %q, limit %v", club.Name, club.Rules.OddsLimit)
	}
}

func TestRecordsAndTrailBelongToOrganisers(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	for _, path := range []string{"/records", "/records/file", "/records/file?as=csv", "/audit"} {
		c.as("Brida").get(path).says(403)
		if got := c.stranger().get(path); got.status != 303 {
			t.Errorf("a stranger at %s: %d", path, got.status)
		}
		c.as("Dorrit").get(path).hides("Quarry", "brida@example.org", "4711")
	}
	c.as("Brida").upload("/records", "x.csv", "apiary,hive,box,opened_on,difficulty\n").says(403)
	if got := c.as("Ansel").send("POST", "/records", fields("do", "import"), map[string]string{"Origin": "https://elsewhere.example"}); got.status != 403 {
		t.Errorf("a foreign origin: %d", got.status)
	}
}
