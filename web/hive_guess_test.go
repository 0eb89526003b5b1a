package web

import (
	"context"
	"fmt"
	"net/url"
	"reflect"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// TestANewClubIsNeverOverdue sets a club up without knowing when anything was
// opened, and looks at every page about it.
func TestANewClubIsNeverOverdue(t *testing.T) {
	t.Parallel()
	c, setup := serveNobody(t)
	b := c.stranger()
	form := setupForm("units", "mm")
	form.Del("set_up_on")
	b.follow(setup, form).says(200, "The first visit is on")
	ids, err := c.store.ClubIDs(context.Background())
	if err != nil || len(ids) != 1 {
		t.Fatalf("clubs %v, %v", ids, err)
	}
	c.id = ids[0]
	if first := c.club().Visits[0].On; first > today+28 {
		t.Errorf("somebody looks on %s at the earliest", first)
	}
	hive := c.club().Apiaries[0].Hives[1]
	pages := []string{
		"/", "/month", "/year", "/apiaries", "/map", "/apiary/" + itoa(c.club().Apiaries[0].ID), "/hive/" + itoa(hive.ID), "/hive/" + itoa(hive.ID) + "/change",
		boxPath(hive.Boxes[0].ID), visitPath(c.club().Visits[0].UID), visitPath(c.club().Visits[0].UID) + "/sheet", "/guide/dates?box=" + itoa(hive.Boxes[0].ID),
	}
	noneOverdue := func() {
		t.Helper()
		for _, path := range pages {
			if got := b.get(path); got.status != 200 || strings.Contains(strings.ToLower(got.body), "overdue") || strings.Contains(got.body, "past their day") {
				t.Errorf("%s: %d, %s", path, got.status, got.text())
			}
		}
	}
	noneOverdue()
	b.get("/hive/"+itoa(hive.ID)).says(200, "When it was last opened is a guess (about a year ago)")
	b.get(visitPath(c.club().Visits[0].UID)).says(200, "last opened: not known")
	b.get("/").says(200, "When was Hive 1 in Orchard last opened, roughly?", "When was Hive 3 in Orchard")
}

// TestARoughAnswer answers for a hive by each button, and in German.
func TestARoughAnswer(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida, quarry := c.as("Brida"), c.club().Apiaries[1]
	brida.follow("/apiary/"+itoa(quarry.ID)+"/hives", fields("hives", "5", "boxes", "2", "lowest", "deep", "upper", "deep")).says(200)
	hives := c.club().Apiaries[1].Hives
	hives = hives[len(hives)-5:]
	question := func(h *scheduler.Hive) string {
		return fmt.Sprintf("When was %s in Quarry last opened, roughly?", h.Name)
	}
	brida.get("/").says(200, question(&hives[0]), question(&hives[2]), "2 more hives are asked about next")
	if got := c.as("Corin").get("/"); strings.Contains(got.body, "roughly?") {
		t.Error("who does not tend the hives is asked about them")
	}
	path := func(i int) string { return "/hive/" + itoa(hives[i].ID) + "/roughly" }
	c.as("Corin").post(path(0), fields("ago", "month")).says(403)
	c.as("Dorrit").post(path(0), fields("ago", "month")).says(404)
	brida.post(path(0), fields("ago", "<never>")).says(422, "&lt;never&gt;", "this month, this season")

	rules := c.club().Rules
	season := scheduler.NewSeason(quarry.Place(), &rules)
	for i, ago := range scheduler.Agos {
		got := brida.follow(path(i), url.Values{"ago": {string(ago)}})
		got.says(200, hives[i].Name+" in Quarry, last opened roughly")
		if strings.Contains(got.text(), question(&hives[i])) {
			t.Errorf("%s is asked about again", hives[i].Name)
		}
		now := c.club().Apiaries[1].Hives
		for _, box := range now[len(now)-5+i].Boxes {
			want := season.Roughly(ago, today)
			if ago == scheduler.NobodyKnows {
				want = today - 365
			}
			if box.SetUpOn != want || box.GuessedOn != today || !box.GuessAnswered {
				t.Errorf("%s: box %+v, want %s", ago, box, want)
			}
		}
	}
	brida.post(path(0), fields("ago", "year")).says(409, "answered already")

	// An answer is taken back as it was, and only once.
	brida.follow("/apiary/"+itoa(quarry.ID)+"/hives", fields("hives", "1", "boxes", "2", "lowest", "deep", "upper", "deep")).says(200)
	last := func() scheduler.Hive { all := c.club().Apiaries[1].Hives; return all[len(all)-1] }
	before := last()
	at := hivePath(before.ID)
	said := brida.follow(at+"/roughly", fields("ago", "longer"))
	if last().Boxes[1].SetUpOn == before.Boxes[1].SetUpOn {
		t.Error("the answer changed nothing")
	}
	said.takeBack(brida).says(200, "it is asked again", question(&before))
	if after := last(); !reflect.DeepEqual(after.Boxes, before.Boxes) {
		t.Errorf("taken back: %+v, before %+v", after.Boxes, before.Boxes)
	}
	back := fields("was-"+itoa(before.Boxes[0].ID), "2026-01-01")
	brida.post(at+"/roughly-not", back).says(409, "No answer to take back")
	brida.post(at+"/roughly-not", fields()).says(409)
	brida.post(at+"/roughly-not", fields("was-"+itoa(before.Boxes[0].ID), "never")).says(422)
	c.as("Corin").post(at+"/roughly-not", back).says(403)
	brida.get("/hive/"+itoa(hives[0].ID)).says(200, "is a guess (about a month ago)")
	de := text.In("de", text.Millimetres)
	if got := de.Say("page.home.guess-ask", "Volk 1", "Steinbruch"); got != "Wann wurde Volk 1 am Stand Steinbruch zuletzt geöffnet, ungefähr?" {
		t.Error(got)
	}
}

// TestAnOpeningEndsTheQuestion records boxes of which only a guess was known.
func TestAnOpeningEndsTheQuestion(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida, quarry := c.as("Brida"), c.club().Apiaries[1]
	brida.follow("/apiary/"+itoa(quarry.ID)+"/hives", fields("hives", "1", "boxes", "1", "lowest", "deep", "upper", "deep")).says(200)
	hives := c.club().Apiaries[1].Hives
	box := hives[len(hives)-1].Boxes[0]
	brida.get("/").says(200, "last opened, roughly?")
	c.in(func(tx *store.Tx) error {
		_, err := tx.RecordOpening(context.Background(), box.ID, scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}, today)
		return err
	})
	if got := brida.get("/"); strings.Contains(got.body, "last opened, roughly?") {
		t.Error("it is asked when a box was last opened that was opened today")
	}
	if got := brida.get(boxPath(box.ID)); strings.Contains(got.body, "is a guess (") || strings.Contains(got.body, "not known") {
		t.Errorf("the box: %s", got.text())
	}
}
