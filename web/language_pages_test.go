package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/notify"
	"pryday/scheduler"
)

// wordlessClub is a club in which nobody has entered more than a name of one
// word: what else its pages say, they say themselves. Its records have
// something for every corner of them.
func wordlessClub() *scheduler.Club {
	c := quarryClub()
	c.Name = "Mill"
	c.Rules.Home = &scheduler.Home{Latitude: 47, ElevationM: 500}
	c.Rules.Stages[scheduler.Flow].Starts = scheduler.MonthDay{Month: 6, Day: 10}
	for i := range c.Members {
		c.Members[i].Name, _, _ = strings.Cut(c.Members[i].Name, " ")
		c.Members[i].Email = fmt.Sprintf("m%d@example.org", i)
	}
	week := scheduler.Period{From: today - 2, Until: today + 5, Reason: "Reason"}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		a.AccessNotes = "Access"
		a.NoGo = []scheduler.Period{{From: today + 40, Until: today + 41, Reason: "Reason"}, {From: today + 50}}
		for j := range a.Hives {
			a.Hives[j].Name = fmt.Sprintf("%sHive%d", a.Name, j+1)
		}
	}
	orchard, quarry := &c.Apiaries[0], &c.Apiaries[1]
	orchard.Standstill = []scheduler.Period{week}
	quarry.Hives[1].LeaveAlone = []scheduler.Period{week}
	quarry.Hives[0].Requeened = []scheduler.Date{today - 300, today - 30}
	box := &quarry.Hives[0].Boxes[0]
	box.Repaired = []scheduler.Date{today - 350}
	for n, gap := range []float64{8, 6.5, 5} {
		box.Openings = append(box.Openings, scheduler.Opening{
			ID: fmt.Sprintf("0b8b7c1e-1111-4111-8111-00000000000%d", n), On: today - 200 + scheduler.Date(40*n), By: 1,
			Joint: scheduler.Hard, Frames: scheduler.Firm, Scraped: scheduler.ScrapedPart, Note: "Note",
			Condition: []scheduler.Condition{scheduler.Warped, scheduler.FrameBroken},
			Gaps:      []scheduler.Gap{{At: scheduler.AboveFrames, MM: gap}, {At: scheduler.BetweenFrames, Peg: scheduler.ThickGoes}},
		})
	}
	c.Apiaries = append(c.Apiaries, scheduler.Apiary{ID: 9, Name: "Empty", Latitude: 2, Longitude: 15, ElevationM: 20, Timezone: "UTC"})
	return c
}

// twoTongues holds the page of an address against itself in another language.
type twoTongues struct {
	c    *testClub
	who  string
	page func(b *browser) *answer
	but  []string // what may stand on both: people entered it, or it is of a format
}

// inBoth fails where the German page has words of the English one, and returns
// the German one.
func (x twoTongues) inBoth() *answer {
	x.c.t.Helper()
	said := map[string]bool{}
	x.c.speaks(x.who, "en")
	english := x.page(x.c.as(x.who))
	for _, s := range spoken(english.body) {
		said[s] = true
	}
	if len(said) < 5 {
		x.c.t.Fatalf("the page says nothing: %d %s", english.status, english.body)
	}
	x.c.speaks(x.who, "de")
	german := x.page(x.c.as(x.who))
	if german.status != english.status {
		x.c.t.Errorf("English %d, German %d", english.status, german.status)
	}
	for _, s := range spoken(german.body) {
		if slices.ContainsFunc(x.but, func(b string) bool { return strings.Contains(s, b) }) {
			continue
		}
		if said[s] && len(prose.FindAllString(s, -1)) > 2 || leftEnglish.MatchString(s) {
			x.c.t.Errorf("English is left: %q", s)
		}
	}
	return german
}

func (c *testClub) inBoth(who, path string, but ...string) *answer {
	c.t.Helper()
	return twoTongues{c, who, func(b *browser) *answer { return b.get(path) }, but}.inBoth()
}

// inBothSent holds the answers to a form against each other; a change leads to
// the page that tells of it.
func (c *testClub) inBothSent(who, path string, values url.Values, but ...string) *answer {
	c.t.Helper()
	return twoTongues{c, who, func(b *browser) *answer {
		got := b.post(path, values)
		if to := got.header.Get("Location"); to != "" {
			return b.get(to)
		}
		return got
	}, but}.inBoth()
}

func serveWordless(t *testing.T) *testClub {
	c := serveClub(t)
	c.id = c.importClub(wordlessClub())
	return c
}

func TestPagesOfRecordsInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	club := c.club()
	quarry := &club.Apiaries[1]
	apiary, hive := "/apiary/"+itoa(quarry.ID), "/hive/"+itoa(quarry.Hives[0].ID)
	v := c.visit("Quarry")
	for _, who := range []string{"Ansel", "Corin"} {
		for _, path := range []string{
			"/", "/month", "/month?month=2027-07&person=all", "/year", "/year?year=2020", "/day", "/month?month=2026-13", "/year?year=x", "/day?day=x", "/month?person=x", "/month?apiary=x", "/apiaries", "/map", apiary, apiary + "/season", "/apiary/" + itoa(club.Apiaries[0].ID), "/apiary/" + itoa(club.Apiaries[2].ID),
			"/apiary/" + itoa(club.Apiaries[2].ID) + "/season", hive, hive + "/record", "/hive/" + itoa(quarry.Hives[1].ID),
			hive + "/colony", hive + "/colony/swarmed", hive + "/colony/requeened", hive + "/colony/split", hive + "/colony/united", hive + "/colony/sold", hive + "/colony/died",
			visitPath(v.UID), visitPath(v.UID) + "/record", visitPath(v.UID) + "/sheet", visitPath(v.UID) + "/desk", "/repairs", "/repairs?from=x", "/fit",
		} {
			c.inBoth(who, path)
		}
	}
	c.inBoth("Ansel", "/apiaries/new").says(200, "Ein neuer Stand", "Breitengrad")
	c.inBoth("Ansel", "/map").says(200, "Karte der Stände", "Wie es um ihn steht")
	c.inBoth("Ansel", "/places/source").says(200, "Woher die Ortsnamen kommen")
	c.inBoth("Ansel", apiary+"/hives").says(200, "Völker für Quarry")
	c.as("Ansel").follow(apiary+"/hives", fields("hives", "2", "boxes", "1", "lowest", "deep", "upper", "deep")).
		says(200, "2 Völker mit je 1 Zarge: Volk 1 bis Volk 2.", "Der nächste Besuch ist am").inGerman()
	c.inBoth("Brida", hive+"/record").says(200, "Vor dem Schließen sauber gekratzt?")
	c.inBoth("Brida", hive).says(200, "Öffnung eintragen", "Wie fest sie saßen", "nächster Besuch", "öffnen bis", "Tracht")
	c.inBoth("Brida", hive+"/change").says(200, "QuarryHive1 ändern", "Aufgestellt am", "Repariert am")
	c.inBoth("Brida", boxPath(quarry.Hives[0].Boxes[0].ID)).says(200, "Zarge Q11", "Ihre Abstände", "das Band ist der Bienenabstand", "über den Rähmchen", "Repariert am", "Zarge 1 von unten")
}

// What comes back after a form: what was done, what is asked back, and what is
// wrong, beside all that was typed.
func TestAnswersToFormsInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	quarry := c.club().Apiaries[1]
	h := &quarry.Hives[0]
	apiary, hive, box := "/apiary/"+itoa(quarry.ID), "/hive/"+itoa(h.ID), itoa(h.Boxes[2].ID)
	day := today.String()
	wrong := fields("name", "", "latitude", "x", "longitude", "y", "elevation_m", "z", "timezone", "Nowhere", "travel_hours", "-1")
	for _, answers := range []struct {
		name, path string
		values     url.Values
		says       string
	}{
		{"a new apiary is wrong", "/apiaries", wrong, "Das darf nicht leer sein."},
		{"an apiary is wrong", apiary + "/save", wrong, "muss eine Zahl von -90 bis 90 sein"},
		{"an apiary is saved", apiary + "/save", fields("name", "Quarry", "latitude", "48,5", "longitude", "15", "elevation_m", "300", "timezone", "UTC"), "Gespeichert."},
		{"keepers", apiary + "/keepers", fields("keeper-0", itoa(c.member["Brida"])), "Betreut von Brida."},
		{"no keepers", "/apiary/" + itoa(c.club().Apiaries[0].ID) + "/keepers", fields(), "Diesen Stand betreut jetzt niemand"},
		{"hives are wrong", apiary + "/hives", fields("hives", "0", "boxes", "9", "lowest", "x", "upper", "deep", "set_up_on", "x"), "muss eine ganze Zahl"},
		{"a shift looked at", apiary + "/season", fields("season_shift_days", "9"), "Noch nicht gespeichert: 9 Tage später, als die Regeln sagen"},
		{"a shift of nothing", apiary + "/season", fields("season_shift_days", "0"), "Das ändert nichts"},
		{"a shift is wrong", apiary + "/season", fields("season_shift_days", "x"), "muss eine ganze Zahl"},
		{"a day learned from", apiary + "/season", fields("by", "seen", "first-pollen", "2027-04-20"), "Der erste gute Pollen kam am 20. April 2027"},
		{"a day too far off", apiary + "/season", fields("by", "seen", "first-pollen", "2026-10-20"), "gelernt wird aus höchstens 75"},
		{"no day", apiary + "/season", fields("by", "seen"), "Gib wenigstens einen Tag an."},
		{"a region looked at", apiary + "/season", fields("by", "region", "region", "western-europe"), "Noch nicht gespeichert: nach den Daten für Westeuropa"},
		{"no region", apiary + "/season", fields("by", "region", "region", "Mond"), "ist keine Region"},
		{"a day is kept", apiary + "/season", fields("season_shift_days", "3", "first-pollen", "2027-04-20", "do", "save"), "Hier beobachtete Tage:"},
		{"a neighbour's day learned from", "/apiary/" + itoa(c.club().Apiaries[0].ID) + "/season", fields("by", "seen"), "km entfernt: Nach 1 dort beobachteten Tag"},
		{"a day taken out", apiary + "/season", fields("season_shift_days", "3", "forget", "first-pollen 2027-04-20", "do", "save"), "Ein Tag ist herausgenommen."},
		{"a region chosen", apiary + "/season", fields("by", "region", "region", "southern-europe", "do", "save"), "gelten jetzt die Daten für Südeuropa und die Donau"},
		{"a stack turned over", hive + "/order", fields("box", box, "box", itoa(h.Boxes[1].ID), "box", itoa(h.Boxes[0].ID)), "Der Stapel ist neu gezeichnet."},
		{"a mark of another box", hive + "/box-add", fields("name", h.Boxes[0].Name, "kind", "deep", "where", "top", "set_up_on", day), "ist eine andere Zarge dieses Volks."},
		{"a box saved", hive + "/box-save", fields("box", box, "name", "Q13", "kind", "deep"), "Gespeichert."},
		{"a box of no kind", hive + "/box-save", fields("box", box, "name", "", "kind", "x"), "ist keine Zargenart"},
		{"a box repaired", hive + "/repaired", fields("box", box, "on", day), "ist repariert oder hat neue Rähmchen"},
		{"a box to be retired", hive + "/box-move", fields("box", box, "to", "retired", "on", day), "endgültig ausmustern?"},
		{"a box goes nowhere", hive + "/box-move", fields("box", box, "to", "", "on", day), "Sag, wohin die Zarge kommt."},
		{"a queen to be noted", hive + "/colony/requeened", fields("on", day, "alone_days", "21"), "Eine neue Königin kam hinein."},
		{"a swarm to come", hive + "/colony/swarmed", fields("on", "2031-01-01"), "kommt erst noch"},
		{"a split of nothing", hive + "/colony/split", fields("on", day, "name", "Elm", "queen", "stays", "apiary", itoa(quarry.ID)), "Wähle mindestens eine Zarge, die geht."},
		{"a death to be noted", hive + "/colony/died", fields("on", day, "rest", "store"), "Seinetwegen fährt niemand mehr hin."},
		{"a hive not empty", hive + "/retire", fields(), "Das Volk hat noch Zargen."},
		{"nothing answered", hive + "/record", fields("box", box, "on", day), "Sag, wie die Fuge aufging"},
		{"an opening is unusual", hive + "/record", fields("box", itoa(h.Boxes[0].ID), "on", day, "joint", "0", "frames", "-1"), "Das kommt vor, aber selten."},
		{"a gap is no length", hive + "/record", fields("box", box, "on", day, "joint", "1", "gap-at-0", "entrance", "gap-size-0", "8 1"), "ist keine Länge: Von zwei Zahlen"},
		{"a gap is far too wide", hive + "/record", fields("box", box, "on", day, "joint", "2", "gap-at-0", "entrance", "gap-size-0", "120 mm"), "Abstände gehen von 0 bis 100 mm"},
		{"a gap is unusually wide", hive + "/record", fields("box", box, "on", day, "joint", "2", "gap-at-0", "entrance", "gap-size-0", "40 mm"), "viel weiter als der Bienenabstand"},
	} {
		t.Run(answers.name, func(t *testing.T) {
			c := *c
			c.t = t
			got := c.inBothSent("Ansel", answers.path, answers.values)
			got.says(got.status, answers.says)
		})
	}
	c.speaks("Ansel", "de")
	b := c.as("Ansel")
	added := b.post(hive+"/box-add", fields("name", "Z9", "kind", "deep", "where", "top", "set_up_on", day))
	b.get(added.header.Get("Location")).says(http.StatusOK, "Zarge Z9 steht jetzt auf QuarryHive1.")
}

// What was recorded a moment ago, and what it changed.
func TestWhatWasRecordedInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	quarry := c.club().Apiaries[1]
	h := &quarry.Hives[0]
	path := "/hive/" + itoa(h.ID) + "/record"
	form := fields("id", uuid.NewString(), "box", itoa(h.Boxes[0].ID), "on", today.String(), "joint", "3", "frames", "4", "scraped", "all", "sure", "yes", "condition", "cracked")
	c.inBothSent("Ansel", path, form).says(http.StatusOK, "Gespeichert.", "Nächste Öffnung bis", "Fuge schwer: mehr als einmal ringsum", "Sie saß fest")
	form.Set("gap-at-0", "above-frames")
	form.Set("gap-size-0", "4 mm")
	c.inBothSent("Ansel", path, form).says(http.StatusOK, "über den Rähmchen, 4 mm: verkittet", "Berichtigung speichern")
	c.inBothSent("Ansel", path, fields("whole", "yes", "hive", itoa(h.ID), "on", today.String())).
		says(http.StatusOK, "Dieses Volk ist eingetragen.", "Zurück zum Volk")
	c.inBoth("Ansel", "/hive/"+itoa(h.ID)).says(http.StatusOK, "berichtigen", "Was gefunden wurde")
	c.inBoth("Ansel", "/repairs").says(http.StatusOK, "Wahrscheinliche Ursache", "Zarge für Zarge", "Wofür")
	c.inBoth("Ansel", "/fit").says(http.StatusOK, "vor dem Befund aufgeschrieben", "Die Wahrscheinlichkeiten kommen unberichtigt", "gesagt; nach oben: gefunden", "Schwer oder festgekittet")
}

// The pages behind the buttons of a mail, for whoever has not signed in.
func TestMailedButtonsInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	v := c.visit("Quarry")
	ask := func(do notify.Deed, who string, v scheduler.Visit) *answer {
		return twoTongues{c, who, func(*browser) *answer { return c.stranger().get(c.act(do, who, v)) }, nil}.inBoth()
	}
	for do, says := range map[notify.Deed]string{
		notify.RecordDeed: "schreib es in eine Notiz", notify.OpenedDeed: "Schon geöffnet?", notify.RainedOffDeed: "Verregnet?",
		notify.CantGoDeed: "Du kannst nicht?", notify.GoDeed: "Du fährst hin?",
	} {
		ask(do, "Brida", v).says(http.StatusOK, says, "Quarry")
		ask(do, "Corin", v)
	}
	old := v
	old.On--
	ask(notify.RainedOffDeed, "Brida", old).says(http.StatusOK, "Dieser Besuch wurde verschoben", "seit die Mail geschrieben wurde: vom 6. Juni 2027 auf den 7. Juni 2027")
	old.On, old.Sequence = 0, old.Sequence+1 // an address that names no day
	ask(notify.RainedOffDeed, "Brida", old).says(http.StatusOK, "Dieser Besuch hat sich geändert", "seit die Mail geschrieben wurde. So steht er jetzt.")
	send := func(do notify.Deed, values url.Values) *answer {
		return c.stranger().post(c.act(do, "Brida", c.visitByUID(v.UID).Visit), values)
	}
	send(notify.RainedOffDeed, fields("to", (today+40).String())).says(http.StatusUnprocessableEntity, "Ja, dorthin legen", "Anderer Tag").inGerman()
	send(notify.GoDeed, fields()).says(http.StatusOK, "Du fährst am Montag, 7. Juni 2027, zu Quarry.", "Besuch ansehen (mit Anmeldung)").inGerman()
	ask(notify.GoDeed, "Brida", c.visitByUID(v.UID).Visit).says(http.StatusOK, "Du fährst schon: Montag, 7. Juni 2027, Quarry.")
	send(notify.CantGoDeed, fields()).says(http.StatusOK, "bist du nicht mehr dabei").inGerman()
	send(notify.OpenedDeed, fields("on", today.String(), "scraped", "part")).says(http.StatusOK, "Eingetragen: ", "ohne Probleme geöffnet.", "öffnen bis").inGerman()
	send(notify.OpenedDeed, fields("on", today.String())).says(http.StatusOK, "Du hast ihn schon als erledigt eingetragen: Dienstag, 1. Juni 2027, Quarry.").inGerman()
	ask(notify.CantGoDeed, "Brida", v).says(http.StatusOK, "Du hast ihn schon als erledigt eingetragen: Dienstag, 1. Juni 2027, Quarry.")
}

// A club that begins, and the page behind a mailed sign-in address.
func TestFirstPagesInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	records := &scheduler.Club{Name: "New", Rules: scheduler.DefaultRules(), Members: []scheduler.Member{
		{ID: 1, Name: "Yorick", Email: "yorick@example.org", Role: scheduler.Organiser}, {ID: 2, Name: "Zita", Email: "zita@example.org", Role: scheduler.Keeper},
	}}
	c.id = c.importClub(records)
	c.inBoth("Yorick", "/").says(http.StatusOK, "Was als Nächstes kommt", "Vier Schritte", "Kalenderadresse holen")
	c.inBoth("Zita", "/").says(http.StatusOK, "Kein Besuch ist geplant.")
	c.inBoth("Zita", "/apiaries").says(http.StatusOK, "Den ersten trägt die Vereinsleitung ein.")
	german := map[string]string{"Accept-Language": "de"}
	c.stranger().send(http.MethodGet, "/sign-in/spent", nil, german).says(http.StatusGone, "Diese Adresse wurde schon benutzt", "Neue Adresse anfordern").inGerman()
}
