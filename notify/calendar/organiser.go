package calendar

import (
	"fmt"
	netmail "net/mail"
	"strings"

	"github.com/emersion/go-ical"
)

// Organiser is who publishes an event, which must name somebody (RFC 5546,
// 3.2.1), or takes the answers to an invitation.
type Organiser netmail.Address

func (o *Organiser) set(props ical.Props) {
	p := set(props, ical.PropOrganizer, mailto.Replace("mailto:"+o.Address))
	if name := paramText(o.Name); name != "" {
		p.Params.Set(ical.ParamCommonName, name)
	}
}

func (o *Organiser) check() error { return checkMailbox(o.Address) }

// checkMailbox refuses what would not be one address in a mailto URI.
func checkMailbox(address string) error {
	if !strings.Contains(address, "@") || strings.ContainsFunc(address, func(r rune) bool { return r <= ' ' || r == '"' || r == 0x7f }) {
		return fmt.Errorf("%q is not the address of a mailbox", address)
	}
	return nil
}

// mailto escapes what would end an address in a URI (RFC 6068, 2).
var mailto = strings.NewReplacer("%", "%25", "#", "%23", "&", "%26", "?", "%3F")

// paramText makes a name fit for a parameter, which can carry neither a quote
// nor a line break (RFC 5545, 3.1).
func paramText(name string) string { return strings.ReplaceAll(CleanLine(name), `"`, "'") }
