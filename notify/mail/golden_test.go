package mail

import (
	"flag"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

var update = flag.Bool("update", false, "write the golden files anew")

// goldens are the mails whose text and HTML are kept, by file name.
func goldens(t *testing.T) map[string]*Mail {
	t.Helper()
	must := func(m *Mail, err error) *Mail {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	return map[string]*Mail{
		"coming.en":      must(Compose(reminderOf(2, "coming"))),
		"coming.de":      must(Compose(reminderOf(1, "coming"))),
		"long.en":        must(Compose(long(reminderOf(2, "coming", "overdue")))),
		"long.de":        must(Compose(long(reminderOf(1, "coming", "overdue")))),
		"moved.en":       must(Compose(withCalendar(reminderOf(2, "moved")))),
		"moved.de":       must(Compose(withCalendar(reminderOf(1, "moved")))),
		"several.en":     must(Compose(reminderOf(0, "today", "moved", "cancelled", "overdue"))),
		"several.de":     must(Compose(reminderOf(1, "today", "done", "late", "overdue"))),
		"ask.en":         must(Compose(reminderOf(2, "ask"))),
		"ask.de":         must(Compose(reminderOf(1, "ask", "coming"))),
		"also.en":        must(Compose(reminderOf(2, "also"))),
		"also.de":        must(Compose(reminderOf(1, "also", "ask"))),
		"weekly.en":      must(Compose(reminderOf(0, "silent", "escalated"))),
		"weekly.de":      must(Compose(reminderOf(1, "escalated"))),
		"no-time.en":     must(Compose(shortOfTime(reminderOf(0, "no-time", "no-time-2")))),
		"no-time.de":     must(Compose(shortOfTime(reminderOf(1, "silent", "no-time")))),
		"sign-in.en":     must(ComposeSignIn(SignIn{Club: "Tarn Valley Hive Circle", URL: "https://hives.example/in?s=1", Minutes: 15})),
		"sign-in.de":     must(ComposeSignIn(SignIn{Language: "de", Club: "Tarn Valley Hive Circle", URL: "https://hives.example/in?s=1", Minutes: 15})),
		"invitation.en":  must(ComposeInvitation(Invitation{Club: "Tarn Valley Hive Circle", InvitedBy: "Maren Okoro", Role: scheduler.Keeper, URL: "https://hives.example/join?s=1", Days: 7})),
		"invitation.de":  must(ComposeInvitation(Invitation{Language: "de", Club: "Tarn Valley Hive Circle", InvitedBy: "Maren Okoro", Role: scheduler.Organiser, URL: "https://hives.example/join?s=1", Days: 7})),
		"new-address.en": must(ComposeNewAddress(AddressChange{Club: "Tarn Valley Hive Circle", Member: "Maren Okoro", URL: "https://hives.example/new?s=1", Hours: 24})),
		"new-address.de": must(ComposeNewAddress(AddressChange{Language: "de", Club: "Tarn Valley Hive Circle", Member: "Maren Okoro", URL: "https://hives.example/new?s=1", Hours: 24})),
		"old-address.en": must(ComposeOldAddress(AddressChange{Club: "Tarn Valley Hive Circle", Member: "Maren Okoro", URL: "https://hives.example/old?s=1", Days: 7})),
		"old-address.de": must(ComposeOldAddress(AddressChange{Language: "de", Club: "Tarn Valley Hive Circle", Member: "Maren Okoro", URL: "https://hives.example/old?s=1", Days: 7})),
		"test.en":        must(ComposeTest("", "https://hives.example/")),
		"test.de":        must(ComposeTest("de", "https://hives.example/")),
		"reply.en":       must(ComposeReply(replyTo(2))),
		"reply.de":       must(ComposeReply(replyTo(1))),
		"answer.en":      must(ComposeAnswer(answerTo(2, owed.AnswerMoved))),
		"answer.de":      must(ComposeAnswer(answerTo(1, owed.AnswerMaybe))),
	}
}

// long is a reminder to somebody who wants everything in the mail itself.
func long(in Input) Input {
	in.Member.Prefs.LongMail = true
	return in
}

// replyTo is what another member wrote about a visit to come, for one member.
func replyTo(member int) Reply {
	in := reminderOf(member, "coming")
	return Reply{
		Input: in, Writer: &in.Club.Members[0], From: "somebody@elsewhere.example", Subject: "Re: Tarn Foot",
		Text:    "I can go, but the gate is stuck.\n\nWho has oil? The one that I used last year is empty, and the shop has none until the end of the week.\n<b>Kay</b>",
		LeftOut: []string{"run.exe", "old mail"},
	}
}

func answerTo(member int, because string) Answer {
	in := reminderOf(member, "coming")
	in.Message.Items = in.Message.Items[:1]
	in.Message.Items[0].Kind, in.Message.Items[0].Because = scheduler.AnswerMessage, because
	return Answer{in}
}

func withCalendar(in Input) Input {
	in.Attached, in.Links.Calendars = true, "https://hives.example/links"
	return in
}

func TestGoldens(t *testing.T) {
	for name, m := range goldens(t) {
		t.Run(name, func(t *testing.T) {
			golden(t, name+".txt", "Subject: "+m.Subject+"\n\n"+m.Text)
			golden(t, name+".html", m.HTML)
		})
	}
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v; run go test -update once and look at what it wrote", err)
	}
	if got != string(want) {
		t.Errorf("%s has changed; run go test -update and look at the difference. Got:\n%s", path, got)
	}
}

var (
	tags   = regexp.MustCompile(`(?s)<style>.*?</style>|<title>.*?</title>|<[^>]*>`)
	hrefs  = regexp.MustCompile(`href="([^"]*)"`)
	spoken = regexp.MustCompile(`[\p{L}\p{N}]+`)
)

// Both parts say the same words in the same order, and lead to the same
// addresses.
func TestTextAndHTMLSayTheSame(t *testing.T) {
	for name, m := range goldens(t) {
		t.Run(name, func(t *testing.T) {
			var urls []string
			for _, l := range hrefs.FindAllStringSubmatch(m.HTML, -1) {
				urls = append(urls, html.UnescapeString(l[1]))
			}
			text := m.Text
			for _, u := range urls {
				if !strings.Contains(text, u+"\n") {
					t.Errorf("the text has no line %q", u)
				}
				text = strings.Replace(text, u+"\n", "\n", 1)
			}
			if strings.Contains(text, "://") {
				t.Errorf("the text has an address more:\n%s", text)
			}
			inText := spoken.FindAllString(text, -1)
			inHTML := spoken.FindAllString(html.UnescapeString(tags.ReplaceAllString(m.HTML, " ")), -1)
			if got, want := strings.Join(inText, " "), strings.Join(inHTML, " "); got != want {
				t.Errorf("text says\n%s\nHTML says\n%s", got, want)
			}
		})
	}
}

// A terminal shows every line whole, and nothing is fetched or run.
func TestTextLinesAndQuietHTML(t *testing.T) {
	for name, m := range goldens(t) {
		for line := range strings.SplitSeq(m.Text, "\n") {
			if utf8.RuneCountInString(line) > textWidth && !strings.Contains(line, "://") {
				t.Errorf("%s: line of %d columns: %q", name, utf8.RuneCountInString(line), line)
			}
		}
		for _, never := range []string{"<img", "src=", "<script", "<link", "@import", "url(", "ZgotmplZ", "%!"} {
			if strings.Contains(m.HTML, never) {
				t.Errorf("%s: %s stands in the HTML", name, never)
			}
		}
		if strings.Contains(m.Text, "%!") || strings.Contains(m.Text, "4711") || strings.Contains(m.HTML, "4711") || strings.Contains(m.Text, "54.2") {
			t.Errorf("%s: a broken phrase, access notes or an exact place stand in\n%s", name, m.Text)
		}
		if len(m.HTML) > 100_000 {
			t.Errorf("%s: %d bytes of HTML; some readers cut at 100 KB", name, len(m.HTML))
		}
	}
}

// Whatever names people enter, both parts say the same, no line of a name
// stands alone, and no markup gets through.
func TestAnyNames(t *testing.T) {
	names := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{
		"<script>alert(1)</script>", "a\n!! Leave now", "a\r\n-- \r\nb", "{{.Title}}", "%s %d", "&amp;", "\x00\x1b[31m", "🐝", "שלום", "\u2028x",
	}))
	rapid.Check(t, func(r *rapid.T) {
		in := reminderOf(rapid.IntRange(0, 2).Draw(r, "member"), "today", "moved", "cancelled", "escalated", "overdue")
		c := in.Club
		c.Name = names.Draw(r, "club")
		for i := range c.Members {
			c.Members[i].Name = names.Draw(r, "member name")
		}
		for i := range c.Apiaries {
			a := &c.Apiaries[i]
			a.Name = names.Draw(r, "apiary")
			for j := range a.Hives {
				hive := &a.Hives[j]
				hive.Name = names.Draw(r, "hive")
				for k := range hive.Boxes {
					hive.Boxes[k].Name, hive.Boxes[k].Kind = names.Draw(r, "box"), names.Draw(r, "kind")
				}
				for k := range hive.LeaveAlone {
					hive.LeaveAlone[k].Reason = names.Draw(r, "reason")
				}
			}
		}
		m, err := Compose(in)
		if err != nil {
			r.Fatal(err)
		}
		if !sameWords(m) {
			r.Fatalf("text says\n%s\nHTML says\n%s", m.Text, m.HTML)
		}
		if strings.Contains(m.HTML, "<script") || strings.Contains(m.Text, "\n!! Leave now") || strings.ContainsAny(m.Text+m.HTML, "\x00\x1b\r") {
			r.Fatalf("a name broke out:\n%s", m.Text)
		}
		if n := strings.Count(m.Text, "\n-- \n"); n != 1 {
			r.Fatalf("%d feet in\n%s", n, m.Text)
		}
	})
}

func sameWords(m *Mail) bool {
	text := m.Text
	for _, l := range hrefs.FindAllStringSubmatch(m.HTML, -1) {
		text = strings.Replace(text, html.UnescapeString(l[1])+"\n", "\n", 1)
	}
	inHTML := html.UnescapeString(tags.ReplaceAllString(m.HTML, " "))
	return strings.Join(spoken.FindAllString(text, -1), " ") == strings.Join(spoken.FindAllString(inHTML, -1), " ")
}

func BenchmarkCompose(b *testing.B) {
	in := reminderOf(2, "coming")
	for b.Loop() {
		if _, err := Compose(in); err != nil {
			b.Fatal(err)
		}
	}
}

// A visit that came in without reasons, a box that left, a visit that is
// gone: nothing of that stops a mail that has other things to tell.
func TestComposeOddRecords(t *testing.T) {
	in := long(reminderOf(2, "coming"))
	in.Plan.Visits[0].Boxes = []scheduler.VisitBox{{BoxID: 41}, {BoxID: 99, Reason: scheduler.BecauseOdds, Due: today}}
	m, err := Compose(in)
	if err != nil || !strings.Contains(m.Text, "On the list of this visit.") {
		t.Errorf("got %v, %v", m, err)
	}
	for name, change := range map[string]func(*Input){
		"no items": func(in *Input) { in.Message.Items = nil },
		"no visit": func(in *Input) { in.Plan.Visits = nil },
		"no place": func(in *Input) { in.Club.Apiaries = nil },
	} {
		in := reminderOf(2, "coming")
		change(&in)
		if m, err := Compose(in); err == nil {
			t.Errorf("%s: composed %q", name, m.Subject)
		}
	}
	overdue := long(reminderOf(2, "coming"))
	overdue.Plan.Visits[0].Boxes[0].Due, overdue.Plan.Visits[0].Boxes[0].Reason = day(2025, 8, 18), scheduler.BecauseOdds
	if m, err := Compose(overdue); err != nil || !strings.Contains(m.Text, "Overdue since 18 August 2025: left longer") {
		t.Errorf("a box long overdue is told as\n%s\n%v", m.Text, err)
	}
	later := reminderOf(2, "coming")
	later.Today = today + 6
	if m, err := Compose(later); err != nil || !strings.Contains(m.Text, "tomorrow, Saturday 8 May 2027") {
		t.Errorf("a mail written late says\n%s\n%v", m.Text, err)
	}
}

// many is a visit to so many boxes, four to a hive, each with much to say.
func many(member, boxes int) Input {
	in := reminderOf(member, "coming")
	a, v := &in.Club.Apiaries[0], &in.Plan.Visits[0]
	a.Hives, v.Boxes = nil, nil
	for i := range boxes {
		if i%4 == 0 {
			a.Hives = append(a.Hives, scheduler.Hive{ID: int64(300 + i), Name: fmt.Sprint("Alder ", i/4+1)})
		}
		b := scheduler.Box{ID: int64(1000 + i), Name: fmt.Sprintf("G%02d", i), Kind: "deep", SetUpOn: day(2025, 5, 1), Openings: []scheduler.Opening{{
			ID: fmt.Sprint("o", i), On: day(2026, 8, 20), Joint: scheduler.Stuck, Frames: scheduler.Firm, Scraped: scheduler.ScrapedPart,
			Gaps: []scheduler.Gap{{At: scheduler.AboveFrames, MM: 4.5}, {At: scheduler.BetweenBoxes, MM: 12.7}, {At: scheduler.FrameToWall, MM: 3}, {At: scheduler.EndBarToBox, MM: 14}},
		}}}
		hive := &a.Hives[len(a.Hives)-1]
		hive.Boxes = append([]scheduler.Box{b}, hive.Boxes...)
		v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: b.ID, Due: day(2027, 5, 10), Reason: scheduler.BecauseOdds, Odds: 0.2})
	}
	return in
}

// A short mail stays short, whatever the visit.
func TestShortMail(t *testing.T) {
	for member, more := range map[int]string{0: "and 388 more boxes, on the checklist", 1: "und 388 weitere Zargen, auf der Checkliste"} {
		m, err := Compose(many(member, 400))
		if err != nil {
			t.Fatal(err)
		}
		if len(m.HTML) > 20_000 || !strings.Contains(m.Text, more) || !sameWords(m) {
			t.Errorf("400 boxes, %d bytes of HTML:\n%s", len(m.HTML), m.Text)
		}
	}
}

// A long visit stays below what readers cut at, says on top which boxes it
// opens, and leaves to its page what is too much.
func TestLongVisit(t *testing.T) {
	for member, want := range map[int]string{
		0: "To open: Alder 1: G00, G01, G02, G03; Alder 2: G04,",
		1: "Zu öffnen: Alder 1: G00, G01, G02, G03; Alder 2: G04,",
	} {
		for _, boxes := range []int{40, 120} {
			m, err := Compose(long(many(member, boxes)))
			if err != nil {
				t.Fatal(err)
			}
			if len(m.HTML) > 100_000 {
				t.Errorf("%d boxes: %d bytes of HTML; some readers cut at 100 KB", boxes, len(m.HTML))
			}
			if !strings.Contains(strings.Join(strings.Fields(m.Text), " "), want) || !strings.Contains(m.HTML, "G39 (") || strings.Contains(m.HTML, "G40 (") {
				t.Errorf("%d boxes are told as\n%.3000s", boxes, m.Text)
			}
			if !sameWords(m) {
				t.Errorf("%d boxes: the text says other words than the HTML", boxes)
			}
		}
	}
}
