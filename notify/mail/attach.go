package mail

import (
	"bytes"
	"fmt"

	gomail "github.com/wneessen/go-mail"
)

// attach adds what goes along with the texts, and reports whether that makes
// parts within parts.
func (m *Message) attach(e *Envelope) (nested bool, err error) {
	for i, invite := range e.Invitations {
		contentType := "text/calendar; method=" + invite.Method
		if i == 0 { // where mail programs look for it
			m.AddAlternativeWriter(gomail.ContentType(contentType), m.body(string(invite.Object)))
			continue
		}
		if err := m.file(fmt.Sprintf("visit-%d.ics", i+1), contentType+"; charset=utf-8", invite.Object); err != nil {
			return false, err
		}
		nested = true
	}
	if e.Calendar != nil {
		if err := m.file("visit.ics", "text/calendar; charset=utf-8; method=PUBLISH", e.Calendar); err != nil {
			return false, err
		}
		nested = true
	}
	for _, f := range e.Files {
		if err := m.file(oneLine(f.Name), f.Type, f.Data); err != nil {
			return false, err
		}
		nested = true
	}
	return nested, nil
}

func (m *Message) file(name, contentType string, data []byte) error {
	err := m.AttachReader(name, bytes.NewReader(data), gomail.WithFileContentType(gomail.ContentType(contentType)))
	if err != nil {
		return fmt.Errorf("attach %s: %w", name, err)
	}
	return nil
}
