package inbox

import (
	"bytes"
	"errors"
	"io"
	netmail "net/mail"
	"path"
	"strings"

	"github.com/emersion/go-message"
	_ "github.com/emersion/go-message/charset" // texts come in whatever character set
	"github.com/emersion/go-message/mail"
)

// What is read of a mail at most. Strangers write them.
const (
	MaxBytes    = 10 << 20 // of a whole mail
	maxHeader   = 256 << 10
	maxParts    = 60
	maxDepth    = 8
	maxText     = 60 << 10
	maxMarkup   = 1 << 20 // of HTML, before its text is taken
	maxCalendar = 256 << 10
	maxReport   = 64 << 10
	maxFiles    = 8
	maxFileSum  = 6 << 20
)

// Mail is what a mail says, as far as it matters here.
type Mail struct {
	From      netmail.Address // empty where it cannot be read
	Subject   string
	MessageID string // without angle brackets
	Date      string // as written
	Text      string // what it says; that of its HTML where there is no other
	Calendar  []byte // the first calendar object in it, or nil
	Report    *Report
	Files     []File
	LeftOut   []string // names of attached files that are not passed on
	header    message.Header
}

// File is an attached file that may be passed on.
type File struct {
	Name string
	Type string // a media type without parameters
	Data []byte
}

// passedOn are the media types of attached files that organisers get: pictures
// and what else people send of hives. Programs, and mails and pages with
// whatever links they hold, are only named.
func passedOn(mediaType string) bool {
	switch kind, _, _ := strings.Cut(mediaType, "/"); kind {
	case "image":
		return mediaType != "image/svg+xml" // may hold programs
	case "audio", "video":
		return true
	}
	return mediaType == "application/pdf" || mediaType == "text/csv"
}

// Read reads a mail, and never fails: what cannot be read is left out.
func Read(raw []byte) (m *Mail) {
	r := &reader{mail: &Mail{}, parts: maxParts, room: maxFileSum}
	defer func() {
		// The parsers below are other people's, and so are the mails.
		if recover() != nil {
			m = r.finish()
		}
	}()
	e, err := message.ReadWithOptions(bytes.NewReader(raw), &message.ReadOptions{MaxHeaderBytes: maxHeader})
	if e == nil || err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
		return r.mail
	}
	r.head(e.Header)
	r.entity(e, 0)
	return r.finish()
}

// reader is one reading of a mail.
type reader struct {
	mail   *Mail
	parts  int // that may still come
	room   int // bytes for attached files
	text   strings.Builder
	markup string // text of HTML
}

func (r *reader) head(h message.Header) {
	r.mail.header = h
	from := mail.Header{Header: h}
	if list, err := from.AddressList("From"); err == nil && len(list) > 0 {
		r.mail.From = netmail.Address{Name: oneLine(list[0].Name), Address: oneLine(list[0].Address)}
	}
	subject, err := h.Text("Subject")
	if err != nil {
		subject = h.Get("Subject")
	}
	r.mail.Subject, r.mail.Date = oneLine(subject), oneLine(h.Get("Date"))
	r.mail.MessageID = strings.Trim(oneLine(h.Get("Message-Id")), "<>")
}

func (r *reader) finish() *Mail {
	r.mail.Text = r.text.String()
	if strings.TrimSpace(r.mail.Text) == "" {
		r.mail.Text = r.markup
	}
	return r.mail
}

// entity reads one part with the parts in it.
func (r *reader) entity(e *message.Entity, depth int) {
	if r.parts--; r.parts < 0 {
		return
	}
	kind, params, err := e.Header.ContentType()
	if err != nil || kind == "" {
		kind = "text/plain"
	}
	if parts := e.MultipartReader(); parts != nil {
		if depth == 0 && kind == "multipart/report" && strings.EqualFold(params["report-type"], "delivery-status") {
			r.mail.Report = &Report{}
		}
		for depth < maxDepth {
			part, err := parts.NextPart()
			if part == nil || err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
				return
			}
			r.entity(part, depth+1)
		}
		return
	}
	name := fileName(e.Header, params)
	disposition, _, _ := e.Header.ContentDisposition()
	switch {
	case kind == "message/delivery-status", kind == "message/global-delivery-status":
		if r.mail.Report != nil {
			r.mail.Report.read(io.LimitReader(e.Body, maxReport))
		}
	case kind == "text/calendar", kind == "application/ics", path.Ext(strings.ToLower(name)) == ".ics":
		if body, whole := readMost(e.Body, maxCalendar); r.mail.Calendar == nil && whole {
			r.mail.Calendar = body
		}
	case kind == "text/plain" && disposition != "attachment":
		r.plain(e.Body)
	case kind == "text/html" && disposition != "attachment":
		if body, _ := readMost(e.Body, maxMarkup); r.markup == "" {
			r.markup = markupText(body)
		}
	case r.mail.Report != nil: // the mail that came back
	default:
		r.file(e.Body, kind, name)
	}
}

func (r *reader) plain(body io.Reader) {
	b, _ := readMost(body, maxText-r.text.Len())
	if r.text.Len() > 0 && len(b) > 0 {
		r.text.WriteString("\n")
	}
	r.text.WriteString(strings.ToValidUTF8(string(b), "\uFFFD"))
}

func (r *reader) file(body io.Reader, kind, name string) {
	if name == "" {
		name = strings.ReplaceAll(kind, "/", ".")
	}
	if passedOn(kind) && len(r.mail.Files) < maxFiles {
		if data, whole := readMost(body, r.room); whole {
			r.room -= len(data)
			r.mail.Files = append(r.mail.Files, File{name, kind, data})
			return
		}
	}
	if len(r.mail.LeftOut) < maxParts {
		r.mail.LeftOut = append(r.mail.LeftOut, name)
	}
}

// readMost reads at most so many bytes, and says whether that is all. A body
// that is broken off or badly encoded is read up to there.
func readMost(body io.Reader, most int) (b []byte, whole bool) {
	b, err := io.ReadAll(io.LimitReader(body, int64(max(most, 0))+1))
	if len(b) > most {
		return b[:max(most, 0)], false
	}
	return b, err == nil || errors.Is(err, io.ErrUnexpectedEOF)
}

// fileName is that of an attached file, without a path.
func fileName(h message.Header, params map[string]string) string {
	attached := mail.AttachmentHeader{Header: h}
	name, err := attached.Filename()
	if err != nil || name == "" {
		name = params["name"]
	}
	name = oneLine(name)
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	if runes := []rune(name); len(runes) > 80 {
		name = string(runes[len(runes)-80:]) // the end says what it is
	}
	return name
}

// maxLine bounds what is kept of one line of a header, in bytes.
const maxLine = 1000

// oneLine makes a stranger's words fit for one line of a record.
func oneLine(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	if len(s) > maxLine {
		s = strings.ToValidUTF8(s[:maxLine], "")
	}
	s = strings.Map(func(r rune) rune {
		switch {
		case r < ' ', r == 0x85, r == 0x2028, r == 0x2029:
			return ' '
		case r >= 0x7f && r < 0xa0, r == 0xfeff, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069: // turns text about
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}
