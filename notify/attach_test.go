package notify_test

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	gomail "github.com/wneessen/go-mail"

	"pryday/notify"
	"pryday/notify/mail"
	"pryday/notify/smtp"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// oweOne records one message about a visit and returns what the member gets.
func (b *fixture) oweOne(t *testing.T, it owed.Item) map[string]string {
	t.Helper()
	_, bodies := parts(t, b.oweLetter(t, it).Text)
	return bodies
}

func (b *fixture) oweLetter(t *testing.T, it owed.Item) *smtp.Letter {
	t.Helper()
	to := &nowhere{}
	n := b.service(t, to)
	before := len(b.messages(t))
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.Owe(ctx, []owed.Message{{
			Key: fmt.Sprint("attach/", before), Kind: it.Kind, MemberID: b.member, On: b.today(), Reason: it.Because, Items: []owed.Item{it},
		}}, b.clock.civil)
		return err
	})
	owed := b.messages(t)
	if _, err := n.Attempt(t.Context(), b.club, owed[len(owed)-1].ID); err != nil {
		t.Fatal(err)
	}
	if len(to.all()) != 1 {
		t.Fatalf("nothing was sent: %+v", b.message(t, owed[len(owed)-1].ID))
	}
	return to.all()[0]
}

// TestCalendarFile: who has no calendar address gets the visit as a file, as
// it is by then; who has one gets none.
func TestCalendarFile(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	v := b.visit(t)
	digest := owed.Item{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}
	moved := digest
	moved.Kind, moved.Because, moved.WasOn = scheduler.MovedMessage, owed.BecauseMoved, v.On-3
	b.clock.civil = v.On.At(9*60, time.UTC).AddDate(0, 0, -1)
	if body := b.oweOne(t, digest); body["text/calendar"] != "" || strings.Contains(body["text/plain"], "attached") {
		t.Errorf("a file again in the last reminder:\n%s", body["text/plain"])
	}
	b.clock.civil = b.clock.civil.AddDate(0, 0, -11)

	for _, it := range []owed.Item{digest, moved} {
		body := b.oweOne(t, it)
		cal, err := ical.NewDecoder(strings.NewReader(body["text/calendar"])).Decode()
		if err != nil || len(cal.Events()) != 1 {
			t.Fatalf("%s: %v in\n%s", it.Kind, err, body["text/calendar"])
		}
		if got := cal.Props.Get("METHOD"); got == nil || got.Value != "PUBLISH" || !strings.Contains(body["text/calendar"], "ORGANIZER;CN=") {
			t.Errorf("%s: it is not published:\n%s", it.Kind, body["text/calendar"])
		}
		e := cal.Events()[0]
		start, uid := e.Props.Get("DTSTART"), e.Props.Get("UID")
		if start.Value != strings.ReplaceAll(v.On.String(), "-", "") || !strings.HasPrefix(uid.Value, v.UID) {
			t.Errorf("%s: the visit of %s is in the file as %s, %s", it.Kind, v.On, start.Value, uid.Value)
		}
		if strings.Contains(strings.ReplaceAll(body["text/calendar"], v.UID, ""), "4711") {
			t.Error("the access notes stand in the file")
		}
		if !strings.Contains(body["text/plain"], "attached") || !strings.Contains(body["text/plain"], notify.CalendarsPath) {
			t.Errorf("%s: the text says nothing of the file:\n%s", it.Kind, body["text/plain"])
		}
	}

	var link *store.Link
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		link, _, err = tx.CreateLink(ctx, store.MemberLink, b.member, 0, store.LinkOptions{})
		return err
	})
	if body := b.oweOne(t, digest); body["text/calendar"] == "" {
		t.Error("no file for a member whose calendar address nobody ever asked")
	}
	b.exec(t, fmt.Sprintf("UPDATE calendar_link SET fetched_at = now(), fetches = 1 WHERE id = %d", link.ID))
	if body := b.oweOne(t, digest); body["text/calendar"] != "" || strings.Contains(body["text/plain"], "attached") {
		t.Errorf("a file for a member with a calendar:\n%s", body["text/plain"])
	}
}

// TestCancelledFile: the file of a cancelled visit takes it out of a calendar.
func TestCancelledFile(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	v := b.visit(t)
	b.exec(t, fmt.Sprintf("UPDATE visit SET status = 'cancelled', sequence = sequence + 1, cancelled_until = on_day + 30 WHERE id = %d", v.ID))
	body := b.oweOne(t, owed.Item{Kind: scheduler.MovedMessage, Because: owed.BecauseCancelled, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, WasOn: v.On})
	for _, want := range []string{"STATUS:CANCELLED", fmt.Sprintf("SEQUENCE:%d", v.Sequence+1), v.UID} {
		if !strings.Contains(body["text/calendar"], want) {
			t.Errorf("no %s in\n%s", want, body["text/calendar"])
		}
	}
}

// TestAttachedTwice: a mail with a file is the same byte for byte when it is
// made again, and reads back.
func TestAttachedTwice(t *testing.T) {
	var letters [2][]byte
	for i := range letters {
		m := message(t, "one@club.test", "kay@keepers.test")
		m.AddAlternativeString(gomail.TypeTextHTML, "<p>Larch</p>")
		if err := m.AttachReader("visit.ics", strings.NewReader("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"), gomail.WithFileContentType("text/calendar")); err != nil {
			t.Fatal(err)
		}
		l, err := notify.NewLetter(&mail.Message{Msg: m}, nil)
		if err != nil {
			t.Fatal(err)
		}
		letters[i] = l.Text
	}
	if !bytes.Equal(letters[0], letters[1]) {
		t.Errorf("two letters:\n%s\n%s", letters[0], letters[1])
	}
	if _, bodies := parts(t, letters[0]); len(bodies) != 3 || bodies["text/html"] != "<p>Larch</p>" || !strings.HasPrefix(bodies["text/calendar"], "BEGIN:VCALENDAR") {
		t.Errorf("the letter reads back as %q", bodies)
	}
}
