package web

import (
	"context"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"pryday/store"
)

// speaks gives a member a language.
func (c *testClub) speaks(name, language string) {
	c.t.Helper()
	ctx := context.Background()
	err := c.store.InClub(ctx, c.id, func(tx *store.Tx) error {
		m, err := tx.Member(ctx, c.member[name])
		if err != nil {
			return err
		}
		m.Language = language
		return tx.UpdateMember(ctx, *m)
	})
	if err != nil {
		c.t.Fatal(err)
	}
}

// leftEnglish finds words that only an English text has.
var leftEnglish = regexp.MustCompile(`\b(?i:the|and|is|of|to|not|with|nobody|boxes|hive|hives|open|visit|you|your|who|goes|why|from|last|time)\b`)

// inGerman fails where a page for a German reader has English on it, but for
// what people entered.
func (a *answer) inGerman(entered ...string) *answer {
	a.t.Helper()
	said := a.text()
	for _, name := range entered {
		said = regexp.MustCompile(regexp.QuoteMeta(name)).ReplaceAllString(said, "")
	}
	if at := leftEnglish.FindStringIndex(said); at != nil {
		a.t.Errorf("English is left: …%s…", said[max(0, at[0]-60):min(len(said), at[1]+60)])
	}
	return a
}

func TestAVisitInGerman(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.speaks("Ansel", "de-AT")
	v := c.visit("Orchard")
	b := c.as("Ansel")
	entered := []string{"gate code 4711 at Orchard", "Orchard hive"}
	page := b.get(visitPath(v.UID)).says(http.StatusOK,
		"Orchard, Dienstag, 1. Juni", "Noch fährt niemand hin.", "Ich fahre hin", "Zargen zum Öffnen", "Überfällig seit", "Planänderung", "Abmelden").inGerman(entered...)
	if !regexp.MustCompile(`<html lang="de"[ >]`).MatchString(page.body) {
		t.Error("the page does not say that it is German")
	}
	seq := page.field("sequence")
	taken := b.follow(visitPath(v.UID)+"/take", fields("sequence", seq)).says(http.StatusOK, "Du fährst am Dienstag, 1. Juni 2027, zu Orchard.", "Zurücknehmen", "Wenn du allein fährst: Sag jemandem").inGerman(entered...)
	for _, once := range []string{"Du fährst allein", "Wenn du allein fährst", "Schwer:"} {
		if n := strings.Count(taken.text(), once); n != 1 {
			t.Errorf("%q is said %d times", once, n)
		}
	}
	b.post(visitPath(v.UID)+"/leave", fields("sequence", seq)).says(http.StatusConflict, "Dieser Besuch hat sich geändert").inGerman()
	b.post(visitPath(v.UID)+"/cancel", fields("sequence", seq)).says(http.StatusUnprocessableEntity, "Den Besuch am Stand Orchard, Dienstag, 1. Juni 2027, absagen?", "Nein, zurück").inGerman()
	b.get(visitPath(v.UID)+"/sheet").says(http.StatusOK, "Wie fest? Vor dem Abkratzen antworten.", "Zurück zum Besuch").inGerman(entered...)
	b.get("/nowhere").says(http.StatusNotFound, "Hier ist nichts").inGerman()
}

// Whoever has not signed in is answered as their browser asks.
func TestAStrangerInGerman(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	asking := map[string]string{"Accept-Language": "de-CH,de;q=0.9,en;q=0.5"}
	c.stranger().send(http.MethodGet, "/nowhere", nil, asking).
		says(http.StatusNotFound, "Hier ist nichts", "Unter dieser Adresse gibt es keine Seite.").inGerman()
}
