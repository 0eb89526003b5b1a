package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// preferencesView is a member's own page: reminders, units, days away.
type preferencesView struct {
	Name       string
	Phone      string
	Address    string
	DaysBefore string
	ClubDays   string
	SendAt     string
	ClubSendAt string
	Timezone   string
	Zones      []string
	Language   string
	Languages  []text.Language
	Units      text.Units
	Kinds      []tick
	Paused     string
	LongMail   bool
	VisitFrom  string
	VisitUntil string
	Invited    bool // visits come as invitations
	Answers    bool // invitations can be had: calendars' answers are taken in
	Gives      givesFields
	NoGo       []periodLine
	Refused    string // what the mail server said of the address
	Today      string
	Problems   map[string]text.Text
}

// periodLine is a span of days as forms show it.
type periodLine struct {
	N           int
	From, Until string
	Reason      string
	Words       string
}

// languages are those that a member can choose; English is the empty tag.
func languages() []text.Language {
	all := text.Languages()
	all[0].Tag = ""
	return all
}

// chosen is how a member's record names the language of a speaker.
func chosen(say *text.Speaker) string {
	if tag := say.Language(); tag != text.Languages()[0].Tag {
		return tag
	}
	return ""
}

// offered are the languages to choose from, with the member's own first where
// it is none of them.
func offered(own string) []text.Language {
	all := languages()
	if own != text.Languages()[0].Tag && !slices.ContainsFunc(all, func(l text.Language) bool { return l.Tag == own }) {
		all = append([]text.Language{{Tag: own, Name: own}}, all...)
	}
	return all
}

func (s *Server) preferences(w http.ResponseWriter, r *http.Request, who *visitor) error {
	club, m, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	v := s.newPreferences(club, m, who)
	return s.showTo(w, r, who, club, http.StatusOK, "preferences", speaker(club, m.ID).Say("page.menu.preferences"), v)
}

// ownRecord reads the club's outline and who is signed in.
func (s *Server) ownRecord(r *http.Request, who *visitor) (club *scheduler.Club, m *scheduler.Member, err error) {
	err = s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Outline(r.Context()); err == nil {
			m, err = tx.Member(r.Context(), who.MemberID)
		}
		return err
	})
	return club, m, err
}

func (s *Server) newPreferences(club *scheduler.Club, m *scheduler.Member, who *visitor) preferencesView {
	say := speaker(club, m.ID)
	v := preferencesView{
		Name: m.Name, Address: m.Email, Phone: m.Phone, Timezone: m.Timezone, Language: m.Language, Languages: offered(m.Language), Units: m.Units, Paused: m.Prefs.PausedUntil.String(),
		ClubDays: scheduler.FormatRule(club.Rules.Reminders.DaysBefore), ClubSendAt: club.Rules.Reminders.SendAt.String(),
		Today: club.TodayOf(m, s.now()).String(), LongMail: m.Prefs.LongMail, Problems: map[string]text.Text{},
		Invited: m.Prefs.Invitations, Answers: s.cfg.Notify.Inbox() != nil,
		Gives: newGivesFields(say, &club.Rules, &m.Prefs),
	}
	if who.person != nil {
		v.Refused = who.person.RefusedReply
	}
	if m.Prefs.DaysBefore != nil {
		v.DaysBefore = scheduler.FormatRule(m.Prefs.DaysBefore)
	}
	if m.Prefs.SendAt != nil {
		v.SendAt = m.Prefs.SendAt.String()
	}
	if h := m.Prefs.VisitHours; h != nil {
		v.VisitFrom, v.VisitUntil = h.From.String(), h.Until.String()
	}
	for _, k := range reminderKinds {
		if !k.Lead || m.Role == scheduler.Organiser {
			v.Kinds = append(v.Kinds, tick{string(k.Kind), say.Tell(k.Word), !slices.Contains(m.Prefs.Mute, k.Kind)})
		}
	}
	for _, a := range club.Apiaries {
		if !slices.Contains(v.Zones, a.Timezone) {
			v.Zones = append(v.Zones, a.Timezone)
		}
	}
	p := apiaryRecords{say: say}
	for i, period := range m.NoGo {
		v.NoGo = append(v.NoGo, p.periodLine(i, period))
	}
	return v
}

func (p *apiaryRecords) periodLine(n int, period scheduler.Period) periodLine {
	l := periodLine{N: n, From: period.From.String(), Until: period.Until.String(), Reason: p.say.Tell(period.Why())}
	switch period.Until {
	case 0:
		l.Words = p.say.Say("page.span.from", period.From)
	case period.From:
		l.Words = p.say.PlainDay(period.From)
	default:
		l.Words = p.say.Say("page.span.between", period.From, period.Until)
	}
	return l
}

// periodList says spans of days one after the other, each with its reason.
func (p *apiaryRecords) periodList(lines []periodLine) string {
	said := make([]string, len(lines))
	for i, l := range lines {
		said[i] = l.Words
		if l.Reason != "" {
			said[i] = p.say.Say("page.members.away-why", l.Words, l.Reason)
		}
	}
	return strings.Join(said, "; ")
}

// savePreferences saves the form, whole or not at all.
func (s *Server) savePreferences(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	club, m, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	m.Name = f.name("name", 80)
	m.Phone = phone(f)
	m.Prefs.DaysBefore = daysBefore(f)
	m.Prefs.SendAt = clock(f, "send_at")
	m.Timezone = zone(f, "timezone", true)
	m.Prefs.PausedUntil = f.date("paused_until")
	m.Prefs.LongMail = f.values.Get("long_mail") != ""
	spoke := m.Language // perhaps one of a region, from an import
	m.Language = f.values.Get("language")
	if m.Language != spoke && !slices.ContainsFunc(languages(), func(l text.Language) bool { return l.Tag == m.Language }) {
		f.bad("language", "form.no-language")
	}
	if m.Units = text.Units(f.values.Get("units")); m.Units != text.Inches {
		m.Units = text.Millimetres
	}
	for _, k := range reminderKinds {
		if k.Lead && m.Role != scheduler.Organiser {
			continue
		}
		m.Prefs.Mute = slices.DeleteFunc(m.Prefs.Mute, func(had scheduler.MessageKind) bool { return had == k.Kind })
		if !slices.Contains(f.values["kind"], string(k.Kind)) {
			m.Prefs.Mute = append(m.Prefs.Mute, k.Kind)
		}
	}
	if s.cfg.Notify.Inbox() != nil {
		m.Prefs.Invitations = f.has("invitations")
	}
	from, until := clock(f, "visit_from"), clock(f, "visit_until")
	m.Prefs.VisitHours = nil
	switch {
	case from != nil && until != nil && *from < *until:
		m.Prefs.VisitHours = &scheduler.HoursOfDay{From: *from, Until: *until}
	case from != nil || until != nil:
		f.bad("visit_from", "form.both-hours")
	}
	had := m.Prefs
	readGives(f, &m.Prefs)
	if !f.ok() {
		v := s.newPreferences(club, m, who)
		v.Gives.echo(f)
		v.Phone = f.values.Get("phone")
		v.Problems, v.Name, v.DaysBefore, v.Timezone = f.Problems, f.values.Get("name"), f.values.Get("days_before"), f.values.Get("timezone")
		v.SendAt, v.Paused = f.values.Get("send_at"), f.values.Get("paused_until")
		v.VisitFrom, v.VisitUntil = f.values.Get("visit_from"), f.values.Get("visit_until")
		return s.showTo(w, r, who, club, http.StatusUnprocessableEntity, "preferences", speaker(club, m.ID).Say("page.menu.preferences"), v)
	}
	said := notice{Text: text.In(m.Language, m.Units).Say("page.form.saved")} // in what was just chosen
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if err := tx.UpdateMember(r.Context(), *m); err != nil || givesTheSame(&had, &m.Prefs) {
			return err
		}
		said.Lines, err = s.replanOf(r, tx, club, m, club.TodayOf(m, s.now()))
		return err
	})
	if err != nil {
		return err
	}
	return s.done(w, r, "/preferences", said)
}

// daysBefore reads days as "7, 1"; nil takes the club's rule.
func daysBefore(f *form) []int {
	s := strings.TrimSpace(f.values.Get("days_before"))
	if s == "" {
		return nil
	}
	var out []int
	for _, word := range strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ' ' || r == ';' }) {
		n, err := strconv.Atoi(word)
		if err != nil || n < 0 || n > 60 {
			f.bad("days_before", "form.not-days", cut(word))
			return nil
		}
		out = append(out, n)
	}
	if len(out) > 10 {
		f.bad("days_before", "form.ten-days")
	}
	return out
}

// clock reads a time of day; nil for an empty field.
func clock(f *form, field string) *scheduler.ClockTime {
	s := strings.TrimSpace(f.values.Get(field))
	if s == "" {
		return nil
	}
	c, err := scheduler.ParseClockTime(s)
	if err != nil {
		f.bad(field, "form.no-time", cut(s))
		return nil
	}
	return &c
}

// phone reads a phone number, as people write one.
func phone(f *form) string {
	s := strings.TrimSpace(f.values.Get("phone"))
	if !scheduler.IsPhone(s) {
		f.bad("phone", "form.no-phone", cut(s))
	}
	return s
}

// zone reads the name of a time zone.
func zone(f *form, field string, mayBeEmpty bool) string {
	name := strings.TrimSpace(f.values.Get(field))
	if name == "" && mayBeEmpty {
		return ""
	}
	if !scheduler.IsZone(name) {
		f.bad(field, "form.no-zone", cut(name))
	}
	return name
}
