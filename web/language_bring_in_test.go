package web

import (
	"net/http"
	"testing"
	"time"

	"pryday/store/backup"
)

// wordlessTable is a keeper's table in which no word is English, so that what is
// left of that language on the pages is theirs.
const wordlessTable = "Stand\tVolk\tZarge\tDatum\tFestigkeit\tSpalt\tName\n" +
	"Quarry\tQuarryHive1\tQ11\t03/04/2027\tbombig\t8,5\tTam\n" +
	"Moor\tEsche\tE1\t20.4.2027\t2,0\t\tAnsel\n" +
	"Moor\tEsche\tE1\t20.4.2027\t2\t\t\n" +
	"Moor\tEsche\tE2\tneulich\t3\t\tTam\n" +
	"Moor\tEsche\tE2\t20.4.2127\t9\t\tTam\n"

// Each step of bringing a table in, and what is wrong at each.
func TestBringingInInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	c.inBoth("Ansel", "/bring-in")
	c.inBothSent("Ansel", "/bring-in", fields("pasted", "")).says(422, "Zellen")
	at := c.as("Ansel").paste(wordlessTable)
	c.inBoth("Ansel", at+"/columns", "Stand ·", "Moor ·").says(200, "Festigkeit")
	c.inBothSent("Ansel", at+"/columns", fields("head", "1", "column-0", "apiary", "column-3", "day", "column-4", "day"), "Stand ·", "Moor ·")
	c.inBothSent("Ansel", at+"/columns", fields(ownColumns...)).says(200, "bombig")
	wrong := fields("order", "", "degree:bombig", "9", "units", "", "stack", "x", "place:moor", "*new",
		"latitude:moor", "n", "longitude:moor", "999", "elevation_m:moor", "hoch", "timezone:moor", "Mond")
	c.inBothSent("Ansel", at+"/questions", wrong).says(422, "ist keine Zeitzone")
	right := fields("order", "day-first", "degree:bombig", "4", "degree:9", "refuse", "scraped", "unsaid", "units", "mm", "lowest", "deep", "upper", "medium", "stack", "bottom-up",
		"place:moor", "*new", "latitude:moor", "47,5", "longitude:moor", "14,25", "elevation_m:moor", "300", "timezone:moor", "Europe/Vienna")
	c.inBothSent("Ansel", at+"/questions", right, "Moor ·")
	check := c.inBoth("Ansel", at+"/check", "Moor ·").says(200, "neulich", "Zeile")
	c.inBothSent("Ansel", at+"/check", fields("expects", "9-9-9-9", "leave", "yes"), "Moor ·").says(422)
	c.inBothSent("Ansel", at+"/check", fields("expects", check.field("expects")), "Moor ·").says(422)
	c.inBothSent("Ansel", at+"/nothing", fields()).says(404)
	c.inBoth("Ansel", "/bring-in/"+noUpload+"/check").says(404)
	c.speaks("Ansel", "de")
	c.as("Ansel").get(at + "/refused.csv").says(200).inGerman("Hive")
	c.as("Ansel").follow(at+"/check", fields("expects", check.field("expects"), "leave", "yes")).says(200).inGerman("Hive", "Empty")
}

// Pages that a club is looked after at, found things and a desk, and the lines that
// organisers see on top of every page.
func TestMorePagesInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	club := c.club()
	quarry := &club.Apiaries[1]
	c.server.cfg.Backups = func() backup.State { return backup.State{Failed: "no room", Since: time.Now().AddDate(0, 0, -9)} }
	for _, path := range []string{
		"/rules/limit", "/rules", "/rules/history", "/members", memberPath(c.member["Brida"]), memberPath(c.member["Brida"]) + "/address", "/links", "/messages",
		"/records", "/audit", "/preferences", "/preferences/address", "/no-signal",
		"/find", "/find?q=Q", "/find?q=Note", "/find?q=zzz", "/apiary/" + itoa(quarry.ID) + "/desk", "/apiary/" + itoa(quarry.ID) + "/hives",
		boxPath(quarry.Hives[1].Boxes[0].ID), "/hive/" + itoa(quarry.Hives[1].ID) + "/change", "/photo/" + noUpload, "/hive/x", "/box/999999", "/visit/" + noUpload,
		"/act/guessed", "/new-address/guessed", "/old-address/guessed", "/unsubscribe/guessed", "/setup/guessed", "/nothing-here",
	} {
		c.inBoth("Ansel", path, append(formatWords, "stage.flow.starts")...)
	}
	c.inBoth("Ansel", "/").says(http.StatusOK, "konnte noch nicht gesichert werden")
	desk := "/apiary/" + itoa(quarry.ID) + "/desk"
	c.inBothSent("Ansel", desk, fields())
	c.inBothSent("Ansel", desk, fields("on", "x", "box", itoa(quarry.Hives[0].Boxes[0].ID)))
	for _, wrong := range []struct{ path, field, value string }{
		{"/links", "kind", "x"},
		{"/preferences/away", "from", "x"},
		{"/members/invite", "email", "x"},
		{"/rules/season", "x", "x"},
		{"/preferences/address", "email", "x"},
		{memberPath(c.member["Brida"]) + "/address", "email", "x"},
		{memberPath(c.member["Brida"]) + "/away", "from", "x"},
		{memberPath(c.member["Brida"]) + "/nothing", "x", "x"},
		{"/members/" + itoa(c.member["Ansel"]) + "/remove", "x", "x"},
		{"/passkeys/remove", "passkey", "9"},
		{"/messages/clear", "member", "x"},
	} {
		c.inBothSent("Ansel", wrong.path, fields(wrong.field, wrong.value))
	}
}
