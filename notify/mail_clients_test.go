//go:build clients

package notify_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// parser prints what Python's e-mail package finds in a message.
const parser = `
import sys, json, email, email.policy
m = email.message_from_binary_file(sys.stdin.buffer, policy=email.policy.default)
json.dump({
    "fields": [[k, str(v)] for k, v in m.items()],
    "to": [[a.display_name, a.addr_spec] for a in m["To"].addresses],
    "date": m["Date"].datetime.isoformat(),
    "parts": [[p.get_content_type(), p.get_content_disposition() or "", "" if p.is_multipart() else str(p.get_content())] for p in m.walk()],
    "defects": [str(d) for p in m.walk() for d in list(p.defects) + [d for v in p.values() for d in v.defects]],
}, sys.stdout)
`

// TestMailInPython has a whole reminder read by a parser in another language.
func TestMailInPython(t *testing.T) {
	b := newFixture(t)
	b.exec(t, "UPDATE member SET name = 'Käthe „Imme“ Ünal', language = 'de' WHERE id = "+itoa(b.member))
	v := b.visit(t)
	b.clock.civil = b.clock.civil.AddDate(0, 0, -14)
	letter := b.oweLetter(t, owed.Item{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On})
	cmd := exec.Command("/usr/bin/python3", "-c", parser)
	cmd.Stdin = bytes.NewReader(letter.Text)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("python3: %v", err)
	}
	var found struct {
		Fields, To, Parts [][]string
		Date              string
		Defects           []string
	}
	if err := json.Unmarshal(out, &found); err != nil {
		t.Fatal(err)
	}
	if len(found.Defects) > 0 {
		t.Errorf("defects: %q", found.Defects)
	}
	if len(found.To) != 1 || found.To[0][0] != "Käthe „Imme“ Ünal" || found.To[0][1] != "kay@keepers.test" {
		t.Errorf("To: %q", found.To)
	}
	fields := map[string]string{}
	for _, f := range found.Fields {
		if _, twice := fields[f[0]]; twice {
			t.Errorf("%s twice", f[0])
		}
		fields[f[0]] = f[1]
	}
	for name, want := range map[string]string{
		"Auto-Submitted": "auto-generated", "List-Unsubscribe-Post": "List-Unsubscribe=One-Click", "Content-Language": "de", "MIME-Version": "1.0",
		"List-Id": `Hollow Lane Bees <club-` + itoa(b.club) + `.reminders.club.test>`,
	} {
		if got := strings.ReplaceAll(fields[name], `"`, ""); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	if fields["References"] == "" || fields["References"] != fields["In-Reply-To"] {
		t.Errorf("References: %q, In-Reply-To: %q", fields["References"], fields["In-Reply-To"])
	}
	kinds := ""
	for _, p := range found.Parts {
		kinds += p[0] + " " + p[1] + ";"
	}
	if kinds != "multipart/mixed ;multipart/alternative ;text/plain ;text/html ;text/calendar attachment;" {
		t.Errorf("parts: %s", kinds)
	} else if !strings.Contains(found.Parts[2][2], "Zargen öffnen") || !strings.Contains(found.Parts[3][2], "Zargen öffnen") {
		t.Errorf("the text reads\n%s", found.Parts[2][2])
	}
}

// TestAttachedVisitInCalendars has the file that goes along checked by two
// libraries of calendars: for a published event they ask for more than for one
// in a feed (RFC 5546, 3.2.1).
func TestAttachedVisitInCalendars(t *testing.T) {
	b := newFixture(t)
	v := b.visit(t)
	b.clock.civil = b.clock.civil.AddDate(0, 0, -14)
	item := owed.Item{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}
	for _, language := range []string{"en", "de"} {
		b.exec(t, "UPDATE member SET language = '"+language+"' WHERE id = "+itoa(b.member))
		file := b.oweOne(t, item)["text/calendar"]
		check := func(text string, command ...string) error {
			cmd := exec.Command(command[0], command[1:]...)
			cmd.Stdin = strings.NewReader(text)
			out, err := cmd.CombinedOutput()
			if err == nil && string(out) != "1\n" {
				err = fmt.Errorf("it reads %s events", out)
			}
			if err != nil {
				err = fmt.Errorf("%s: %w\n%s", command, err, out)
			}
			return err
		}
		libical := []string{"/usr/bin/python3", "../web/feed/testdata/libical.py"}
		for _, err := range []error{check(file, libical...), check(file, "php", "-d", "include_path=/usr/share/php", "../web/feed/testdata/vobject.php")} {
			if err != nil {
				t.Errorf("%v in\n%s", err, file)
			}
		}
		if check(regexp.MustCompile(`ORGANIZER[^\r\n]*\r?\n( [^\r\n]*\r?\n)*`).ReplaceAllString(file, ""), libical...) == nil {
			t.Error("a published event of nobody passes")
		}
	}
}
