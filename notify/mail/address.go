package mail

import "pryday/scheduler/text"

// AddressChange is a mail about a change of a member's address: to the new one
// to confirm it, or to the old one to bring it back.
type AddressChange struct {
	Language string
	Club     string
	Member   string // the member's name
	URL      string
	Hours    int // how long the address works that confirms
	Days     int // how long the address works that brings back
}

// ComposeNewAddress renders the mail to the new address.
func ComposeNewAddress(in AddressChange) (*Mail, error) {
	s := text.In(in.Language, "")
	p := &page{Language: s.Language(), Eyebrow: oneLine(in.Club), Title: s.Say("mail.new-address.title")}
	p.add(say(s.Say("mail.new-address.text", oneLine(in.Club), oneLine(in.Member))), buttons(mainLink(s.Say("mail.new-address.button"), in.URL)),
		fine(s.Say("mail.new-address.hours", in.Hours)), fine(s.Say("mail.new-address.not-you")))
	return p.mail(p.Title)
}

// ComposeOldAddress renders the mail to the old address. It does not say the
// new one: who reads this may be another by now.
func ComposeOldAddress(in AddressChange) (*Mail, error) {
	s := text.In(in.Language, "")
	p := &page{Language: s.Language(), Eyebrow: oneLine(in.Club), Title: s.Say("mail.old-address.title")}
	p.add(say(s.Say("mail.old-address.text", oneLine(in.Club), oneLine(in.Member))), say(s.Say("mail.old-address.not-you")),
		buttons(mainLink(s.Say("mail.old-address.button"), in.URL)), fine(s.Say("mail.old-address.days", in.Days)))
	return p.mail(p.Title)
}
