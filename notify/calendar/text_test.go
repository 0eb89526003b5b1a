package calendar

import (
	"bytes"
	"strings"
	"testing"

	ics "github.com/arran4/golang-ical"
	"github.com/emersion/go-ical"
)

// texts are the strings that feeds get wrong.
var texts = []string{
	"", " ", "plain", "Bees, glue; and \\ more", "a\nb", "a\r\nb", "a\rb", "\\n is not a break", `trailing \`,
	"🐝🐝🐝 " + strings.Repeat("é", 80), strings.Repeat("🐝", 60), "שלום עולם, שורה; שנייה", "مرحبا",
	"END:VEVENT\r\nBEGIN:VEVENT\r\nUID:evil", "BEGIN:VEVENT", "END:VCALENDAR", "a\x00b\x1bc\x7f", "\u2028line\u2029para\u0085next",
	"\xff\xfe broken", "\ufeffmark", strings.Repeat("note ", 100), `"quoted"; TZID=x:y`, "tab\there", "  both ends  ",
}

// checkReadBack renders text in every text field and reads it back twice.
func checkReadBack(t *testing.T, text string) {
	e := event("a", day(2027, 5, 8))
	e.Summary, e.Description, e.Location = text, text, text
	e.Categories = []string{text, "second"}
	out := render(t, Feed{Name: text, Description: text, Events: []Event{e}})
	a, b := decode(t, out)
	if len(a.Events()) != 1 || len(b.Events()) != 1 {
		t.Fatalf("%q: %d and %d events\n%s", text, len(a.Events()), len(b.Events()), out)
	}
	for _, row := range []struct {
		name, want string
	}{{"SUMMARY", CleanLine(text)}, {"DESCRIPTION", Clean(text)}, {"LOCATION", CleanLine(text)}} {
		var gotA string
		if p := a.Events()[0].GetProperty(ics.ComponentProperty(row.name)); p != nil {
			gotA = p.Value
		}
		gotB, err := b.Events()[0].Props.Text(row.name)
		if err != nil {
			t.Fatalf("%q: %s: %v", text, row.name, err)
		}
		if gotA != row.want || gotB != row.want {
			t.Errorf("%s of %q: read back as %q and %q\n%s", row.name, text, gotA, gotB, out)
		}
	}
	if got, err := b.Props.Text("NAME"); err != nil || got != CleanLine(text) {
		t.Errorf("NAME of %q: read back as %q, %v", text, got, err)
	}
	list, err := b.Events()[0].Props.Get(ical.PropCategories).TextList()
	if want := CleanLine(text); err != nil || len(list) == 0 || list[len(list)-1] != "second" || want != "" && list[0] != want {
		t.Errorf("CATEGORIES of %q: read back as %q, %v", text, list, err)
	}
	again, err := Render(Feed{Name: text, Description: text, Events: []Event{e}})
	if err != nil || !bytes.Equal(out, again) {
		t.Errorf("%q: two renders differ", text)
	}
}

func TestTextReadBack(t *testing.T) {
	for _, text := range texts {
		checkReadBack(t, text)
	}
}

func FuzzTextReadBack(f *testing.F) {
	for _, text := range texts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { checkReadBack(t, text) })
}

// Folding is undone by taking out each CRLF with the one space after it
// (RFC 5545, 3.1).
func FuzzFold(f *testing.F) {
	for _, text := range texts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		line := "X:" + CleanLine(text)
		var w folder
		w.Write([]byte(line))
		w.Write([]byte("\r\n"))
		out := w.out.Bytes()
		checkLines(t, out)
		if got := strings.ReplaceAll(string(out), "\r\n ", ""); got != line+"\r\n" {
			t.Errorf("%q unfolds to %q", line, got)
		}
	})
}
