package web

import (
	"net/http"

	"pryday/scheduler/text"
	"pryday/store"
)

// invitationsView is what clubs a person is asked to join. Of a club nothing is
// shown but its name before they say yes.
type invitationsView struct{ Clubs []askedLine }

type askedLine struct {
	ID   int64
	Name string
	Says text.Text
}

func (s *Server) invitations(w http.ResponseWriter, r *http.Request, who *visitor) error {
	club, m, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	all, err := s.cfg.Store.InvitationsOf(r.Context(), who.PersonID)
	if err != nil {
		return err
	}
	var v invitationsView
	for _, a := range all {
		says := text.New("page.invitations.asks", a.InvitedBy, a.Role)
		if a.InvitedBy == "" {
			says = text.New("page.invitations.asked", a.Role)
		}
		v.Clubs = append(v.Clubs, askedLine{a.ClubID, a.ClubName, says})
	}
	return s.showTo(w, r, who, club, http.StatusOK, "invitations", speaker(club, m.ID).Say("page.invitations.title"), v)
}

// answerInvitation joins a club, or does not.
func (s *Server) answerInvitation(w http.ResponseWriter, r *http.Request, who *visitor) error {
	club, deed := parseID(r.PathValue("club")), r.PathValue("deed")
	if deed != "accept" && deed != "decline" {
		return s.nothingHere(w, r)
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	var name string
	err = s.cfg.Store.InClub(r.Context(), club, func(tx *store.Tx) error {
		i, err := tx.Invitation(r.Context(), who.PersonID)
		if err != nil {
			return err
		}
		if name, err = tx.Name(r.Context()); err != nil {
			return err
		}
		if deed == "decline" && !f.has("sure") {
			return &question{text.New("page.question.decline", name)}
		}
		if deed == "decline" {
			if err := tx.Withdraw(r.Context(), who.PersonID); err != nil {
				return err
			}
			return tx.Audit(r.Context(), store.AuditEntry{Action: "decline invitation", Subject: i.Name})
		}
		member, err := tx.Accept(r.Context(), who.PersonID)
		if err != nil {
			return err
		}
		return tx.Audit(r.Context(), store.AuditEntry{MemberID: member, Action: "accept invitation", Subject: i.Name})
	})
	if q, asks := err.(*question); asks {
		return s.askSelf(w, r, who, "page.invitations.title", f, q, "/invitations")
	}
	if err != nil {
		return err
	}
	say := s.reader(r)
	if deed == "decline" {
		return s.done(w, r, "/invitations", notice{Text: say.Say("page.invitations.declined", name)})
	}
	return s.done(w, r, "/?club="+itoa(club), notice{Text: say.Say("page.invitations.accepted", name)})
}

// changeInvited takes an invitation back, or mails it again.
func (s *Server) changeInvited(w http.ResponseWriter, r *http.Request, who *visitor) error {
	deed, person := r.PathValue("deed"), parseID(r.PathValue("person"))
	if deed != "again" && deed != "withdraw" {
		return s.nothingHere(w, r)
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	var name string
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		i, err := tx.Invitation(r.Context(), person)
		if err != nil {
			return err
		}
		name = i.Name
		if deed == "again" {
			return tx.MailInvitation(r.Context(), person)
		}
		if !f.has("sure") {
			return &question{text.New("page.question.withdraw", name)}
		}
		if err := tx.Withdraw(r.Context(), person); err != nil {
			return err
		}
		return who.noteOn(r, tx, "withdraw invitation", i.Name)
	})
	if q, asks := err.(*question); asks {
		return s.askSelf(w, r, who, "page.menu.members", f, q, "/members")
	}
	if err != nil {
		return err
	}
	said := "page.members.invited-again"
	if deed == "withdraw" {
		said = "page.members.withdrawn"
	}
	return s.done(w, r, "/members", notice{Text: s.reader(r).Say(said, name)})
}
