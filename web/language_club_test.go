package web

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/store"
)

// memberNames stand on pages as people entered them.
var memberNames = []string{"Ansel Whitlow", "Brida Coppard", "The Orchard", "Orchard", "Quarry"}

// A German organiser reads every page of the club in German, and is answered
// in German.
func TestTheClubInGerman(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.speaks("Ansel", "de")
	ansel := c.as("Ansel")
	brida := memberPath(c.member["Brida"])
	entered := append([]string{c.club().Name}, memberNames...)
	for path, says := range map[string]string{
		"/members":           "Jemanden einladen",
		brida:                "in die Vereinsleitung nehmen",
		"/links":             "Besuche in deinem Kalender",
		"/messages":          "Eine Nachricht bleibt 400 Tage stehen",
		"/bring-in":          "Eine Tabelle hereinholen",
		"/audit":             "Eine Zeile bleibt 4 Jahre stehen",
		"/preferences":       "Ich bekomme Mail",
		"/invitations":       "Einladungen",
		"/sign-ins":          "Geräte und Anmelden",
		"/preferences/erase": "Mich löschen",
		"/records":           "Was der Verein eingetragen hat",
		"/rules":             "Länger wartet keine Zarge",
		"/rules/history":     "Jede Fassung wird aufgehoben.",
	} {
		page := ansel.get(path)
		if page.status != http.StatusOK || !strings.Contains(strings.ToLower(page.text()), strings.ToLower(says)) {
			t.Errorf("%s: %d, does not say %q", path, page.status, says)
		}
		page.inGerman(append(entered, formatWords...)...)
	}
}

// formatWords are of files and rules, and the same in every language.
var formatWords = []string{
	"apiary, hive, box, kind, opened_on, difficulty, scraped, note", "apiary,hive,box,kind,opened_on,difficulty,scraped,note",
	"hours.open", "stage.build-up.open", "stage.flow.open", "stage.late-summer.open", "stage.autumn.open", "stage.winter.open",
	"English (Britain: crown board, runner)", "English (America: inner cover, rabbet)",
}

// What is wrong with a file, a rule or an address is said in German, and what
// was typed stays.
func TestWhatIsWrongInGerman(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.speaks("Ansel", "de")
	ansel := c.as("Ansel")
	entered := append([]string{c.club().Name}, memberNames...)
	entered = append(entered, formatWords...)

	ansel.upload("/records", "kaputt.json", `{"club": {"name": "x"}, "apiaries": [{"name": "Obstgarten", "latitude": 94.1}]}`).says(http.StatusUnprocessableEntity,
		"kaputt.json: 6 Stellen sind falsch.", "apiaries[0].latitude: 94.1 liegt außerhalb der Grenzen; erlaubt: eine Zahl von -90 bis 90 Grad", "club.members: fehlt")
	ansel.upload("/records", "kaputt.csv", "apiary,hive\n").says(http.StatusUnprocessableEntity, "Zeile 1: box: fehlt in der ersten Zeile")
	ansel.upload("/rules/upload", "regeln.toml", "min_days = 100\nmax_days = 90\n").says(http.StatusUnprocessableEntity,
		"Die Datei regeln.toml ist nicht zu gebrauchen.", "Zeile 1: min_days: 100 kann nicht sein; erlaubt: weniger Tage als max_days, zurzeit 90").inGerman(entered...)

	form := ruleFormOf(c.rules().Rules, "2", "max_days", "3", "note", "weniger Arbeit")
	wrong := ansel.post("/rules", form).says(http.StatusUnprocessableEntity, "Es wurde nichts gespeichert.", "„3“ ist nicht erlaubt: Schreib eine ganze Zahl, 30 bis 1500 Tage.").inGerman(entered...)
	if !strings.Contains(wrong.body, `value="3"`) || wrong.field("note") != "weniger Arbeit" {
		t.Error("what was typed is lost")
	}
	ansel.post("/rules/preview", ruleFormOf(c.rules().Rules, "2", "odds_limit", "0,1")).says(http.StatusOK, "Noch ist nichts gespeichert.", "1 von 10", "Das kommende Jahr").inGerman(entered...)
	ansel.follow("/rules", ruleFormOf(c.rules().Rules, "2", "max_days", "300")).says(http.StatusOK, "Gespeichert: Jetzt gilt Fassung 3.", "Zurück zu Fassung 2").inGerman(entered...)
	ansel.post("/rules", ruleFormOf(c.rules().Rules, "2", "min_days", "30")).says(http.StatusConflict, "Inzwischen von anderen geändert", "300 Tage").inGerman(entered...)

	again := ansel.post("/members/invite", fields("name", "Ines", "email", "ines", "role", "keeper")).says(http.StatusUnprocessableEntity, "„ines“ ist keine E-Mail-Adresse").inGerman(entered...)
	if !strings.Contains(again.body, `type="email" value="ines"`) {
		t.Error("the address that was typed is lost")
	}
	ansel.post("/preferences", fields("name", "", "units", "mm")).says(http.StatusUnprocessableEntity, "Das darf nicht leer sein.").inGerman(entered...)
}

// What was done is said in the language of whoever reads the trail, and not of
// whoever did it.
func TestTheTrailSpeaksToItsReader(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	ansel.follow("/members/invite", fields("name", "Ines", "email", "ines@example.org", "role", "organiser")).says(http.StatusOK, "Ines is a member now")
	ansel.post("/links", fields("kind", "club")).says(http.StatusOK, "all visits of the club")
	v := c.visit("Orchard")
	ansel.follow(visitPath(v.UID)+"/take", fields("sequence", ansel.get(visitPath(v.UID)).field("sequence"))).says(http.StatusOK, "You go to Orchard")
	ansel.get("/audit").says(http.StatusOK, "go on visit", "make calendar address", "all visits of the club", "Ines as organiser")
	c.speaks("Ansel", "de")
	ansel.get("/audit").says(http.StatusOK, "Besuch übernommen", "Kalenderadresse angelegt", "alle Besuche des Vereins", "Ines als Vereinsleitung").inGerman(memberNames...)
}

// Lines that an older program wrote are shown as they are.
func TestOldLinesOfTheTrail(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.in(func(tx *store.Tx) error {
		return tx.Audit(context.Background(), store.AuditEntry{Action: "polish the smoker", Subject: "{with care}", Detail: []byte(`{"about": 3}`)})
	})
	c.as("Ansel").get("/audit").says(http.StatusOK, "polish the smoker", "{with care}", "the program")
}

// The first organiser goes on in the language of the form, and so does whoever
// is invited.
func TestTheFirstOrganisersLanguage(t *testing.T) {
	t.Parallel()
	c, setup := serveNobody(t)
	asking := map[string]string{"Accept-Language": "de-AT,de;q=0.9"}
	b := c.stranger()
	b.send(http.MethodGet, setup, nil, asking).says(http.StatusOK, "Willkommen", "Dein erster Stand").holds(`value="mm" checked`)
	b.send(http.MethodGet, setup, nil, map[string]string{"Accept-Language": "en-US,en;q=0.9"}).says(http.StatusOK, "Welcome").holds(`value="in" checked`)
	b.send(http.MethodPost, setup, setupForm("your_name", ""), asking).says(http.StatusUnprocessableEntity, "Das darf nicht leer sein.")
	if a := b.send(http.MethodPost, setup, setupForm(), asking); a.status != http.StatusSeeOther {
		t.Fatalf("%d: %s", a.status, a.text())
	}
	b.get("/links").says(http.StatusOK, "und du bist angemeldet.", "Der erste Besuch ist am", "Besuche in deinem Kalender")
	b.follow("/members/invite", fields("name", "Ines", "email", "ines@example.org", "role", "keeper")).says(http.StatusOK, "Ines ist jetzt Mitglied")
}

// Whoever signs in is spoken to as their browser asks.
func TestSignInInGerman(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	asking := map[string]string{"Accept-Language": "de"}
	c.stranger().send(http.MethodGet, "/sign-in", nil, asking).says(http.StatusOK, "Deine E-Mail-Adresse", "Anmeldeadresse mailen").inGerman()
	c.stranger().send(http.MethodPost, "/sign-in", fields("email", "ines"), asking).says(http.StatusUnprocessableEntity, "Das ist keine E-Mail-Adresse.").inGerman()
	c.stranger().send(http.MethodPost, "/sign-in", fields("email", "ines@example.org"), asking).says(http.StatusOK, "Sie gilt einmal, 30 Minuten lang.").inGerman()
}

// Whoever stops mails is spoken to as their mails speak.
func TestUnsubscribeInGerman(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.speaks("Brida", "de")
	address := "/unsubscribe/" + c.notify.Signer().Sign(notify.Action{
		Do: notify.UnsubscribeDeed, Club: c.id, Member: c.member["Brida"], Expires: time.Now().Add(time.Hour),
	})
	club := c.club().Name
	c.stranger().get(address).says(http.StatusOK, "Alle Erinnerungen abbestellen", "dafür musst du dich anmelden").inGerman(club)
	c.stranger().post(address, fields()).says(http.StatusOK, "An brida@example.org gehen keine Erinnerungen mehr.", "Wieder schicken").inGerman(club)
	c.stranger().post(address, fields("again", "yes")).says(http.StatusOK, "An brida@example.org gehen wieder Erinnerungen.").inGerman(club)
}
