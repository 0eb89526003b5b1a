package inbox

import (
	"bufio"
	"io"
	"strings"

	"github.com/emersion/go-message/textproto"
)

// Report is what a mail server says became of a mail of ours: the first
// recipient of a delivery status notification (RFC 3464), as each of ours has
// one recipient.
type Report struct {
	Action string // failed, delayed, delivered, relayed or expanded; empty where nothing could be read
	Status string // an enhanced status code such as 5.1.1 (RFC 3463)
	Reply  string // what the last server said, on one line
}

// read reads the body of message/delivery-status: groups of fields, the first
// about the report, the others about a recipient each.
func (p *Report) read(body io.Reader) {
	b := bufio.NewReader(body)
	for range maxParts {
		h, err := textproto.ReadHeader(b)
		if action := strings.ToLower(oneLine(h.Get("Action"))); action != "" && p.Action == "" {
			p.Action, p.Status = action, oneLine(h.Get("Status"))
			if i := strings.IndexAny(p.Status, " ("); i >= 0 { // a comment
				p.Status = p.Status[:i]
			}
			p.Reply = oneLine(h.Get("Diagnostic-Code"))
			if _, said, ok := strings.Cut(p.Reply, ";"); ok {
				p.Reply = strings.TrimSpace(said)
			}
		}
		if err != nil {
			return
		}
	}
}

// Failed reports whether the mail was not delivered and will not be.
func (p *Report) Failed() bool {
	return p.Action == "failed" && (strings.HasPrefix(p.Status, "5.") || p.Status == "")
}

// Delayed reports whether the mail is not delivered yet, or was given up for a
// reason that may pass.
func (p *Report) Delayed() bool {
	return p.Action == "delayed" || p.Action == "failed" && !p.Failed()
}

// AboutAddress reports whether a failure speaks of the address, and not of the
// mail, of its sender or of a full mailbox (RFC 3463): one such is enough to
// send nothing more there. 5.1.7 and 5.1.8 are about the sender's address;
// 5.4.1, 5.4.4 and 5.5.0 are what large servers say where nobody is; 5.0.0
// says nothing more than that it failed.
func (p *Report) AboutAddress() bool {
	switch p.Status {
	case "5.1.7", "5.1.8":
		return false
	case "5.2.1", "5.4.1", "5.4.4", "5.5.0", "5.0.0", "5.2.0", "":
		return true
	}
	return strings.HasPrefix(p.Status, "5.1.")
}

// Words is what stands on record.
func (p *Report) Words() string {
	switch {
	case p.Reply == "" && p.Status == "":
		return p.Action
	case p.Reply == "":
		return p.Action + ", " + p.Status
	case strings.Contains(p.Reply, p.Status):
		return p.Reply
	}
	return p.Status + " " + p.Reply
}
