package web

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

func guidePaths() []string {
	paths := []string{"/guide"}
	for _, page := range guidePages {
		paths = append(paths, guidePath(page.name))
	}
	return paths
}

// Everybody may read the guide, in the language of their own or that their
// browser asks for; no page of it needs a script or weighs much.
func TestGuideIsForEverybody(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	ansel := c.as("Ansel")
	for _, path := range guidePaths() {
		english := c.stranger().get(path).says(http.StatusOK)
		german := c.stranger().send(http.MethodGet, path, nil, map[string]string{"Accept-Language": "de"}).says(http.StatusOK).inGerman()
		member := ansel.get(path).says(http.StatusOK)
		for _, a := range []*answer{english, german, member} {
			if len(a.body) > 100<<10 {
				t.Errorf("%s weighs %d kB", path, len(a.body)>>10)
			}
			if strings.Contains(a.body, "<form method=\"post\" action=\"/guide") {
				t.Errorf("%s asks for something", path)
			}
		}
		c.inBoth("Corin", path)
	}
	c.stranger().get("/guide/nothing").says(http.StatusNotFound)
	c.stranger().get("/sign-in").holds(`href="/guide"`)
	ansel.get("/").holds(`href="/guide"`)
	c.as("Ansel").get("/guide/grades?club=999").says(http.StatusOK) // of no club of theirs: a stranger's
}

// The page about dates draws the reader's own box, and says its days as its own
// page does.
func TestGuideDrawsOnesOwnBox(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q12")
	path := guidePath("dates") + "?box=" + itoa(box.ID)
	brida := c.as("Brida")
	for i, joint := range []string{"2", "3"} {
		on := (today - scheduler.Date(300-100*i)).String()
		brida.post("/hive/"+itoa(h.ID)+"/record", fields("id", uuid.NewString(), "box", itoa(box.ID), "on", on, "joint", joint, "frames", "1", "scraped", "part")).says(http.StatusSeeOther)
	}
	got := brida.get(path).says(http.StatusOK, "Drawn here: box Q12 of Quarry hive 1", "hard", "scraped off: part", "counted days", "In your club a box is opened before the chance passes 1 in 5")
	if says := brida.get(boxPath(box.ID)).says(http.StatusOK); !says.has(`href="` + path + `"`) {
		t.Error("the box does not lead to how its day is made")
	}
	if got.has("made up") {
		t.Error("an own box is called made up")
	}
	brida.get(guidePath("dates")).says(http.StatusOK, "Drawn here: box Q12") // the one of the most openings
	c.as("Dorrit").get(path).says(http.StatusNotFound)
}

func (a *answer) has(s string) bool { return strings.Contains(a.body, s) }

// What each opening taught is what the planner learned of it: the last bar is that
// of the rate that it plans with, and the age that of the saved state.
func TestGuideDrawsWhatThePlannerKnows(t *testing.T) {
	t.Parallel()
	for _, day := range []scheduler.Date{scheduler.NewDate(2027, time.January, 3), scheduler.NewDate(2027, time.June, 1), scheduler.NewDate(2027, time.October, 30)} {
		p := inventedRecords(&text.Speaker{}, day)
		h, b := p.inventedBox()
		v, state := p.dateSteps(h, b), p.states[b.ID]
		if len(v.Records) != state.Openings {
			t.Errorf("%s: %d openings drawn of %d", day, len(v.Records), state.Openings)
		}
		if want := int(state.SealingDays + 0.5); v.AgeNow != want {
			t.Errorf("%s: an age of %d days is said, the plan has %d", day, v.AgeNow, want)
		}
		rate := p.rateOn(b.ID, day)
		low, high := speeds(&rate)
		if last := v.Records[len(v.Records)-1]; last.From != speedX(low) || last.From+last.Width != speedX(high) {
			t.Errorf("%s: the last bar is %d wide %d, want %d to %d", day, last.From, last.Width, speedX(low), speedX(high))
		}
		if state.OddsDay >= day && (len(v.Chance.Visits) != 1 || v.Chance.Visits[0].At != chartX(int(state.OddsDay-day))) {
			t.Errorf("%s: the limit is marked at %v, want %s", day, v.Chance.Visits, state.OddsDay)
		}
		for _, d := range v.Days {
			if d.At < 0 || d.At > yearsWide {
				t.Errorf("%s: %q lies outside of the drawing", day, d.Words)
			}
		}
	}
}

// Numbers of the guide come from the code and the club's rules.
func TestGuideSaysTheRules(t *testing.T) {
	t.Parallel()
	club := &scheduler.Club{Rules: scheduler.DefaultRules()}
	r := &club.Rules
	r.MaxDays, r.MinDays, r.ResealDays, r.SpringDays, r.OddsLimit, r.AnswerDays = 391, 31, 17, 14, 1.0/7, 9
	r.Stages[scheduler.LateSummer].Pace, r.Reminders.DaysBefore, r.Reminders.MostAWeek, r.GapMM = 1.9, []int{8, 2}, 5, scheduler.GapLimits{Least: 7, Most: 9}
	c := serveClub(t)
	c.id = c.importClub(withRules(r))
	c.as("Ansel").get(guidePath("dates")).says(http.StatusOK, "longer than 391 days", "in peace for 31 days", "in the 17 days before winter", "In the first 14 days after winter", "passes 1 in 7", "counts as 13.3 days")
	c.as("Ansel").get(guidePath("mails")).says(http.StatusOK, "8 and 2", "no more than 5 mails a week", "for 9 days")
	c.as("Ansel").get(guidePath("gaps")).says(http.StatusOK, "7 mm thick, the thick one 9 mm")
	for _, tag := range []string{"en", "de"} {
		for _, key := range guideKeys(t) {
			if said := text.In(tag, "").Say(key, "", "", "", "", ""); regexp.MustCompile(`[0-9]`).MatchString(said) {
				t.Errorf("%s: %s has a number of its own: %q", tag, key, said)
			}
		}
	}
}

func withRules(r *scheduler.Rules) *scheduler.Club {
	c := quarryClub()
	c.Rules = *r
	for i := range c.Members {
		c.Members[i].Email = fmt.Sprintf("ruled%d@example.org", i)
	}
	return c
}

// guideKeys are the texts that the templates and code of the guide say.
func guideKeys(t *testing.T) []string {
	t.Helper()
	var keys []string
	named := regexp.MustCompile(`"(guide\.[a-z.-]+[a-z])"`)
	for _, pattern := range []string{"pages/*.html", "pages/parts/*.html", "guide_*.go"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatal(pattern, err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range named.FindAllStringSubmatch(string(data), -1) {
				keys = append(keys, m[1])
			}
		}
	}
	if len(keys) < 120 {
		t.Fatalf("only %d texts of the guide were found", len(keys))
	}
	return keys
}

// Most grown-ups read without effort what Flesch's formula gives 65 and more, and
// Amstad's for German 60. R. Flesch, "A new readability yardstick", Journal of
// Applied Psychology 32 (1948); T. Amstad, "Wie verständlich sind unsere
// Zeitungen?" (1978). The formulas are from memory; syllables are counted by groups
// of vowels.
const (
	leastEnglish = 65
	leastGerman  = 60
)

func TestGuideReadsPlainly(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	for tag, least := range map[string]float64{"en": leastEnglish, "de": leastGerman} {
		for _, path := range guidePaths() {
			page := c.stranger().send(http.MethodGet, path, nil, map[string]string{"Accept-Language": tag})
			got, n := readingEase(tag, paragraphs(page.body))
			if n < 5 {
				t.Errorf("%s %s: only %d sentences were found", tag, path, n)
			}
			if got < least {
				t.Errorf("%s %s reads at %.0f, want %.0f or more", tag, path, got, least)
			}
		}
	}
}

// The formula can fail: what a lawyer would write does.
func TestReadingEaseTellsHardFromEasy(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		tag, says string
		low, high float64
	}{
		{"en", "The cat sat on the mat. The dog ran to the door.", 100, 130},
		{"en", "Notwithstanding aforementioned considerations, establishing comprehensive organisational responsibilities necessitates interdisciplinary deliberation.", -400, 0},
		{"de", "Der Hund lief zum Haus. Die Katze saß am Tor.", 90, 130},
		{"de", "Unbeschadet vorgenannter Berücksichtigungsnotwendigkeiten erfordert die Verantwortlichkeitsfestlegung eine interdisziplinäre Auseinandersetzung.", -400, 0},
	} {
		if got, _ := readingEase(row.tag, []string{row.says}); got < row.low || got > row.high {
			t.Errorf("%q reads at %.0f, want %.0f to %.0f", row.says, got, row.low, row.high)
		}
	}
}

var (
	sentenceEnds = regexp.MustCompile(`[.!?:;]+(?:\s|$)`)
	vowels       = map[string]*regexp.Regexp{
		"en": regexp.MustCompile(`[aeiouy]+`),
		"de": regexp.MustCompile(`ei|ie|au|eu|äu|ai|aa|ee|oo|[aeiouyäöü]`),
	}
)

// readingEase returns the score of some paragraphs, and how many sentences it found.
func readingEase(tag string, paragraphs []string) (score float64, sentences int) {
	words, syllables := 0, 0
	for _, p := range paragraphs {
		for _, s := range sentenceEnds.Split(p, -1) {
			in := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' })
			if len(in) == 0 {
				continue
			}
			sentences++
			words += len(in)
			for _, w := range in {
				syllables += syllablesOf(tag, w)
			}
		}
	}
	if words == 0 {
		return 0, 0
	}
	perSentence, perWord := float64(words)/float64(sentences), float64(syllables)/float64(words)
	if tag == "de" {
		return 180 - perSentence - 58.5*perWord, sentences
	}
	return 206.835 - 1.015*perSentence - 84.6*perWord, sentences
}

func syllablesOf(tag, word string) int {
	n := len(vowels[tag].FindAllString(word, -1))
	if tag == "en" && strings.HasSuffix(word, "e") && !strings.HasSuffix(word, "le") && n > 1 {
		n-- // silent
	}
	return max(n, 1)
}

// paragraphs are the running text of a page: of p, li and dd whatever is a sentence.
func paragraphs(page string) (out []string) {
	page = page[strings.Index(page, "<main"):strings.Index(page, "</main>")]
	var said strings.Builder
	flush := func() {
		if s := strings.Join(strings.Fields(said.String()), " "); strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") {
			out = append(out, s)
		}
		said.Reset()
	}
	for tokens := html.NewTokenizer(strings.NewReader(page)); ; {
		switch tokens.Next() {
		case html.ErrorToken:
			if tokens.Err() != io.EOF {
				panic(tokens.Err())
			}
			return out
		case html.TextToken:
			said.Write(tokens.Text())
		case html.StartTagToken, html.EndTagToken:
			if name, _ := tokens.TagName(); slices.Contains([]string{"p", "li", "dd", "dt", "h1", "h2", "svg", "figcaption", "section", "div"}, string(name)) {
				flush()
			}
		}
	}
}
