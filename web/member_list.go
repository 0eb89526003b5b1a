package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/mail"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// membersView is who belongs to the club, and who is away.
type membersView struct {
	Members   []memberLine
	Invited   []store.Invitation // organisers see who has not said yes
	Clubs     []clubLine         // of whoever looks, when there are several
	MayChange bool
	Form      inviteForm
	Problems  map[string]text.Text
}

type memberLine struct {
	ID        int64
	Name      string
	Email     string // organisers see it, and everybody their own
	Phone     string // for whom the address is
	Lead      bool   // an organiser
	You       bool
	Apiaries  text.Text // that the member looks after
	Away      []periodLine
	AwayWords string
	AwayNow   bool
	Refused   string
}

type clubLine struct {
	ID   int64
	Name string
	Here bool
	Role scheduler.Role
}

type inviteForm struct {
	Name, Email string
	Role        scheduler.Role
}

func (s *Server) members(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showMembers(w, r, who, http.StatusOK, inviteForm{Role: scheduler.Keeper}, nil)
}

func (s *Server) showMembers(w http.ResponseWriter, r *http.Request, who *visitor, status int, asked inviteForm, problems map[string]text.Text) error {
	var club *scheduler.Club
	var refused map[int64]string
	var invited []store.Invitation
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err == nil {
			refused, err = tx.RefusedMembers(r.Context())
		}
		if err == nil && who.Role == scheduler.Organiser {
			invited, err = tx.Invitations(r.Context())
		}
		return err
	})
	if err != nil {
		return err
	}
	v := membersView{Invited: invited, MayChange: who.Role == scheduler.Organiser, Form: asked, Problems: problems}
	for i := range club.Members {
		v.Members = append(v.Members, s.memberLine(club, &club.Members[i], refused, who))
	}
	slices.SortStableFunc(v.Members, func(a, b memberLine) int { return cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	if len(who.clubs) > 1 {
		for _, c := range who.clubs {
			v.Clubs = append(v.Clubs, clubLine{c.ClubID, c.ClubName, c.ClubID == who.ClubID, c.Role})
		}
	}
	return s.showTo(w, r, who, club, status, "members", speaker(club, who.MemberID).Say("page.menu.members"), v)
}

// memberLine says what somebody may know of a member.
func (s *Server) memberLine(club *scheduler.Club, m *scheduler.Member, refused map[int64]string, who *visitor) memberLine {
	line := memberLine{ID: m.ID, Name: m.Name, Lead: m.Role == scheduler.Organiser, You: m.ID == who.MemberID, Apiaries: tends(club, m.ID)}
	if who.Role == scheduler.Organiser || line.You {
		line.Email, line.Phone, line.Refused = m.Email, m.Phone, refused[m.ID]
	}
	p := apiaryRecords{say: speaker(club, who.MemberID)}
	now := club.TodayOf(m, s.now())
	for n, period := range m.NoGo {
		if period.Until != 0 && period.Until < now {
			continue
		}
		line.Away = append(line.Away, p.periodLine(n, period))
		line.AwayNow = line.AwayNow || period.Contains(now)
	}
	line.AwayWords = p.periodList(line.Away)
	return line
}

// member is the page on which an organiser changes one member.
func (s *Server) member(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	var refused map[int64]string
	var links []store.Link
	id := parseID(r.PathValue("id"))
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err == nil {
			refused, err = tx.RefusedMembers(r.Context())
		}
		if err == nil && club.Member(id) != nil {
			tx.Last()
			links, err = tx.Links(r.Context(), id)
		}
		return err
	})
	if err != nil {
		return err
	}
	m := club.Member(id)
	if m == nil {
		return fmt.Errorf("member %d of club %d: %w", id, who.ClubID, store.ErrNotFound)
	}
	page := memberPage{memberLine: s.memberLine(club, m, refused, who)}
	say, names := speaker(club, who.MemberID), scheduler.NewNames(club)
	for i := range links {
		if line := newLinkLine(&links[i], names, say); line.Live {
			page.Calendars = append(page.Calendars, line)
		}
	}
	return s.showTo(w, r, who, club, http.StatusOK, "member", m.Name, page)
}

// memberPage is a member with the calendar addresses that an organiser can end.
type memberPage struct {
	memberLine
	Calendars []linkLine
}

func memberPath(id int64) string { return "/members/" + itoa(id) }

// keeps lists the apiaries that a member looks after: as the first of their
// keepers, and as another one.
func keeps(club *scheduler.Club, member int64) (leads, helps []string) {
	for i := range club.Apiaries {
		switch slices.Index(club.Apiaries[i].Keepers, member) {
		case -1:
		case 0:
			leads = append(leads, club.Apiaries[i].Name)
		default:
			helps = append(helps, club.Apiaries[i].Name)
		}
	}
	return leads, helps
}

// tends says which apiaries a member looks after, and how; nothing for none.
func tends(club *scheduler.Club, member int64) text.Text {
	leads, helps := keeps(club, member)
	switch {
	case leads != nil && helps != nil:
		return text.New("page.members.leads-helps", leads, helps)
	case leads != nil:
		return text.New("page.members.leads", leads)
	case helps != nil:
		return text.New("page.members.helps", helps)
	}
	return text.Text{}
}

// inviteMember adds a member and mails an invitation.
func (s *Server) inviteMember(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	asked := inviteForm{Name: f.name("name", 80), Email: address(f, "email"), Role: role(f)}
	if !f.ok() {
		asked.Name, asked.Email = f.values.Get("name"), f.values.Get("email")
		return s.showMembers(w, r, who, http.StatusUnprocessableEntity, asked, f.Problems)
	}
	var id int64
	var by, language string // of whoever invites: the invitation speaks it
	say := &text.Speaker{}
	known, waits := false, false
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		members, err := tx.Members(r.Context())
		if err != nil {
			return err
		}
		known = false
		for _, m := range members {
			known = known || strings.EqualFold(m.Email, asked.Email)
			if m.ID == who.MemberID {
				by, language, say = m.Name, m.Language, text.In(m.Language, m.Units)
			}
		}
		if known {
			return nil
		}
		m := scheduler.Member{Name: asked.Name, Email: asked.Email, Role: asked.Role, Language: language}
		if id, waits, err = tx.AddOrInvite(r.Context(), m, by); err != nil {
			return err
		}
		return who.note(r, tx, "invite member", text.New("audit.about.invited", asked.Name, asked.Role))
	})
	if err != nil {
		return err
	}
	if known {
		return s.showMembers(w, r, who, http.StatusConflict, asked, map[string]text.Text{"email": text.New("form.member-already")})
	}
	if waits {
		return s.done(w, r, "/members", notice{Text: say.Say("page.members.asked", asked.Name)})
	}
	said := notice{
		Text:  say.Say("page.members.invited", asked.Name),
		Lines: []string{say.Say("page.members.where-helps", asked.Name)},
	}
	if err := s.cfg.Notify.Invite(r.Context(), who.ClubID, id, by); err != nil {
		s.cfg.Logger.Error("no invitation was owed", "member", id, "err", err)
		said.Text = say.Say("page.members.not-mailed", asked.Name)
	}
	return s.done(w, r, "/members", said)
}

// address reads an e-mail address alone, without a name before it.
func address(f *form, field string) string {
	text := strings.TrimSpace(f.values.Get(field))
	a, err := mail.ParseAddress(text)
	if err != nil || a.Address != text || len(text) > 254 {
		f.bad(field, "form.no-address", cut(text))
	}
	return text
}

func role(f *form) scheduler.Role {
	if r := scheduler.Role(f.values.Get("role")); r == scheduler.Organiser {
		return r
	}
	return scheduler.Keeper
}
