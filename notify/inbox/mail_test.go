package inbox

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
)

func crlf(s string) []byte { return []byte(strings.ReplaceAll(s, "\n", "\r\n")) }

func TestRead(t *testing.T) {
	t.Parallel()
	picture := base64.StdEncoding.EncodeToString([]byte("a picture"))
	m := Read(crlf(`From: =?iso-8859-1?Q?K=E4the_Orrin?= <kaethe@keepers.test>
Subject: =?utf-8?b?U2Now7ZuZXMgV2V0dGVy?=
 am Stand
Message-ID: <1@keepers.test>
Content-Type: multipart/mixed; boundary=a

--a
Content-Type: multipart/alternative; boundary=b

--b
Content-Type: text/plain; charset=iso-8859-1
Content-Transfer-Encoding: quoted-printable

Sch=F6n war es.
--b
Content-Type: text/html

<p>not this</p>
--b--
--a
Content-Type: image/jpeg; name="C:\photos\..\hive.jpg"
Content-Disposition: attachment
Content-Transfer-Encoding: base64

` + picture + `
--a
Content-Type: application/x-msdownload
Content-Disposition: attachment; filename="run.exe"

MZ
--a
Content-Type: message/rfc822

Subject: a mail with links in it

x
--a--
`))
	if m.From.Name != "Käthe Orrin" || m.From.Address != "kaethe@keepers.test" || m.Subject != "Schönes Wetter am Stand" || m.MessageID != "1@keepers.test" {
		t.Errorf("%+v", m)
	}
	if strings.TrimSpace(m.Text) != "Schön war es." {
		t.Errorf("text %q", m.Text)
	}
	if len(m.Files) != 1 || m.Files[0].Name != "hive.jpg" || m.Files[0].Type != "image/jpeg" || string(m.Files[0].Data) != "a picture" {
		t.Errorf("files %+v", m.Files)
	}
	if fmt.Sprint(m.LeftOut) != "[run.exe message.rfc822]" {
		t.Errorf("left out %v", m.LeftOut)
	}
}

func TestReadMarkup(t *testing.T) {
	t.Parallel()
	m := Read(crlf("From: kay@keepers.test\nContent-Type: text/html; charset=utf-8\n\n" +
		`<html><head><title>no</title><style>p{}</style></head><body><p>The <b>gate</b> is&nbsp;stuck.</p><div>Who has oil?<br>Kay</div>` +
		`<ul><li>one</li><li>two</li></ul><script>no()</script><a href="https://bees.club.test/act/x">a link</a>` +
		`<blockquote>quoted <blockquote>twice</blockquote> over</blockquote> <p>end</p></body></html>`))
	if want := "The gate is stuck.\nWho has oil?\nKay\none\ntwo\na link\nend"; m.Text != want {
		t.Errorf("%q, want %q", m.Text, want)
	}
}

// Whatever is too much is left out: nothing fails, and little is kept.
func TestReadHostile(t *testing.T) {
	t.Parallel()
	nested := "x"
	for i := range 200 {
		nested = fmt.Sprintf("Content-Type: multipart/mixed; boundary=b%d\n\n--b%d\n%s\n--b%d--\n", i, i, nested, i)
	}
	parts := "Content-Type: multipart/mixed; boundary=p\n\n" + strings.Repeat("--p\nContent-Type: image/png\n\nx\n", 5000) + "--p--\n"
	large := "Content-Type: multipart/mixed; boundary=p\n\n" + strings.Repeat("--p\nContent-Type: image/png\n\n"+strings.Repeat("x", 2<<20)+"\n", 5) + "--p--\n"
	for name, raw := range map[string]string{
		"nothing":            "",
		"no header":          "\n\nx",
		"parts within parts": nested,
		"many parts":         parts,
		"large files":        large,
		"a long header":      "Subject: " + strings.Repeat("x", 2<<20) + "\n\nx",
		"many fields":        strings.Repeat("X-Loop: x\n", 100_000) + "\nx",
		"no such boundary":   "Content-Type: multipart/mixed\n\n--\nx\n----\n",
		"no such encoding":   "Content-Transfer-Encoding: rot13\nContent-Type: text/plain; charset=klingon\n\nx",
		"bad base64":         "Content-Transfer-Encoding: base64\nContent-Type: image/png\n\n!!!!",
		"long text":          "Content-Type: text/plain\n\n" + strings.Repeat("x", 3<<20),
		"long markup":        "Content-Type: text/html\n\n<" + strings.Repeat("p", 3<<20),
		"many elements":      "Content-Type: text/html\n\n" + strings.Repeat("<blockquote><p>", 200_000),
		"a calendar":         "Content-Type: text/calendar\n\n" + strings.Repeat("BEGIN:VCALENDAR\n", 20_000),
		"turned about":       "From: \u202egro.tset@yak\nSubject: a\u202eb\x00c\n\nx",
	} {
		m := Read(crlf(raw))
		files := 0
		for _, f := range m.Files {
			files += len(f.Data)
		}
		if len(m.Text) > maxText+1 || files > maxFileSum || len(m.Files) > maxFiles || len(m.LeftOut) > maxParts || len(m.Subject) > maxLine || len(m.Calendar) > maxCalendar {
			t.Errorf("%s: text %d, files %d in %d, left out %d, subject %d", name, len(m.Text), files, len(m.Files), len(m.LeftOut), len(m.Subject))
		}
		if strings.ContainsAny(m.Subject+m.From.Name, "\u202e\x00\n") {
			t.Errorf("%s: %q", name, m.Subject)
		}
		readAnswer(m.Calendar)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("From: a@b.test\r\nContent-Type: multipart/report; report-type=delivery-status; boundary=x\r\n\r\n--x\r\nContent-Type: message/delivery-status\r\n\r\nA: b\r\n\r\nAction: failed\r\nStatus: 5.1.1\r\n\r\n--x--\r\n"))
	f.Add([]byte("Content-Type: text/html; charset=utf-16\r\nContent-Transfer-Encoding: base64\r\n\r\nPGI+"))
	f.Add([]byte("Content-Type: multipart/mixed; boundary=\"\"\r\n\r\n--\r\n\r\n----\r\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		m := Read(raw)
		if m == nil || len(m.Text) > maxText+1 || len(m.Subject) > maxLine {
			t.Errorf("%+v", m)
		}
		m.automatic("x", "bees@club.example")
		m.looksReturned("")
		digestOf("x", raw)
		readAnswer(m.Calendar)
	})
}

func FuzzAnswer(f *testing.F) {
	names, _ := filepath.Glob("testdata/*.ics")
	if len(names) == 0 {
		f.Fatal("no answers in testdata")
	}
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte("BEGIN:VCALENDAR\nBEGIN:VEVENT\nATTENDEE;PARTSTAT=\"\nEND:VEVENT\nEND:VCALENDAR"))
	f.Fuzz(func(t *testing.T, object []byte) {
		if a := readAnswer(object); a != nil {
			a.Says("kay@keepers.test")
			a.Day(time.UTC)
		}
	})
}

// The answers of several programs, as they write them (RFC 5546, 3.2.3; the
// shapes from memory).
func TestReadAnswers(t *testing.T) {
	t.Parallel()
	day := scheduler.NewDate(2027, 5, 8)
	for name, want := range map[string]struct {
		says      saying
		note      string
		sequence  int
		repeating bool
	}{
		"thunderbird": {says: "ACCEPTED", sequence: 2},
		"exchange":    {says: "DECLINED", note: "Sorry, my back hurts"},
		"web":         {says: "TENTATIVE", sequence: 1},
		"phone":       {says: "ACCEPTED", sequence: -1},
		"series":      {says: "ACCEPTED", sequence: 0, repeating: true},
	} {
		object, err := os.ReadFile("testdata/" + name + ".ics")
		if err != nil {
			t.Fatal(err)
		}
		for ends, object := range map[string][]byte{"LF": object, "CRLF": bytes.ReplaceAll(object, []byte("\n"), []byte("\r\n"))} {
			a := readAnswer(object)
			if a == nil {
				t.Errorf("%s, %s: not read", name, ends)
				continue
			}
			if a.Method != "REPLY" || a.UID != "0d3f-visit@pryday" || a.Says("kay@keepers.test") != want.says || a.Note != want.note ||
				a.Sequence != want.sequence || a.Repeating != want.repeating || a.Stamp.IsZero() || a.Day(time.UTC) != day {
				t.Errorf("%s, %s: %+v", name, ends, a)
			}
		}
	}
}
