package web

import (
	"context"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// memberDeed is one thing that an organiser does to a member.
type memberDeed func(*memberChange) (notice, error)

var memberDeeds = map[string]memberDeed{
	"role":     (*memberChange).role,
	"remove":   (*memberChange).remove,
	"away":     (*memberChange).away,
	"sign-out": (*memberChange).signOut,
	"invite":   (*memberChange).invite,
	"calendar": (*memberChange).endCalendar,
}

type memberChange struct {
	s      *Server
	r      *http.Request
	ctx    context.Context
	by     *visitor
	member *scheduler.Member
	club   *scheduler.Club
	form   *form
	say    *text.Speaker // to whoever does it
}

func (s *Server) changeMember(w http.ResponseWriter, r *http.Request, who *visitor) error {
	deed, ok := memberDeeds[r.PathValue("deed")]
	if !ok {
		return s.nothingHere(w, r)
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	c := &memberChange{s: s, r: r, ctx: r.Context(), by: who, form: f}
	err = s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if c.club, err = tx.Apiaries(r.Context()); err == nil {
			c.member, err = tx.Member(r.Context(), parseID(r.PathValue("id")))
		}
		return err
	})
	if err != nil {
		return err
	}
	c.say = speaker(c.club, who.MemberID)
	said, err := deed(c)
	if q, asks := err.(*question); asks {
		return s.askBack(w, r, who, c.club, c.member.Name, f, q, memberPath(c.member.ID))
	}
	if err != nil {
		return err
	}
	to := memberPath(c.member.ID)
	if r.PathValue("deed") == "remove" || r.PathValue("deed") == "role" && c.member.ID == who.MemberID {
		to = "/members" // the member's own page is no more, or no more for this one
	}
	return s.done(w, r, to, said)
}

func (c *memberChange) in(fn func(*store.Tx) error) error {
	return c.s.cfg.Store.InClub(c.ctx, c.by.ClubID, fn)
}

func (c *memberChange) role() (notice, error) {
	was := c.member.Role
	to := role(c.form)
	err := c.in(func(tx *store.Tx) error {
		m, err := tx.Member(c.ctx, c.member.ID)
		if err != nil {
			return err
		}
		m.Role = to
		if err := tx.UpdateMember(c.ctx, *m); err != nil {
			return err
		}
		return c.by.note(c.r, tx, "change role", text.New("audit.about.role", m.Name, to))
	})
	said := notice{Text: c.say.Say("page.members.now-keeper", c.member.Name)}
	if to == scheduler.Organiser {
		said.Text = c.say.Say("page.members.now-organiser", c.member.Name)
	}
	if was != to && c.member.ID != c.by.MemberID {
		said.Undo = &undo{Label: c.say.Say("page.visit.said.take-back"), Action: c.r.URL.Path, Fields: [][2]string{{"role", string(was)}}}
	}
	return said, err
}

// tendsNow says which apiaries would lose the member; nothing for none.
func (c *memberChange) tendsNow() text.Text {
	name := c.member.Name
	switch leads, helps := keeps(c.club, c.member.ID); {
	case leads != nil && helps != nil:
		return text.New("page.question.leads-helps", name, leads, helps)
	case leads != nil:
		return text.New("page.question.leads", name, leads)
	case helps != nil:
		return text.New("page.question.helps", name, helps)
	}
	return text.Text{}
}

func (c *memberChange) remove() (notice, error) {
	if !c.form.has("sure") {
		ask := text.New("page.question.remove-member", c.member.Name)
		if c.member.ID == c.by.MemberID {
			ask = text.New("page.question.leave-club")
		}
		asked := text.Sentences{ask}
		if now := c.tendsNow(); !now.IsZero() {
			asked = append(asked, now)
		}
		return notice{}, &question{text.New("form.said", asked)}
	}
	err := c.in(func(tx *store.Tx) error {
		if err := tx.RemoveMember(c.ctx, c.member.ID); err != nil {
			return err
		}
		by := c.by
		if c.member.ID == by.MemberID {
			by = &visitor{} // no member any more, whom the trail could name
		}
		return by.noteOn(c.r, tx, "remove member", c.member.Name)
	})
	return notice{Text: c.say.Say("command.member.removed", c.member.Name)}, err
}

// away changes the days on which a member goes nowhere, and plans the
// apiaries that the member looks after anew.
func (c *memberChange) away() (notice, error) {
	days, changed, err := changePeriods(c.form, c.member.NoGo, "page.span.added-member-away", c.member.Name)
	if err != nil {
		return notice{}, err
	}
	said := notice{Text: c.say.Tell(changed), Undo: putBack(c.say, c.form, c.member.NoGo, c.r.URL.Path)}
	err = c.in(func(tx *store.Tx) error {
		said.Lines = nil
		m, err := tx.Member(c.ctx, c.member.ID)
		if err != nil {
			return err
		}
		m.NoGo = days
		if err := tx.UpdateMember(c.ctx, *m); err != nil {
			return err
		}
		for i := range c.club.Apiaries {
			a := &c.club.Apiaries[i]
			if !slices.Contains(a.Keepers, m.ID) {
				continue
			}
			today := a.Today(c.s.now())
			made, err := tx.Replan(c.ctx, a.ID, today)
			if err != nil {
				return err
			}
			p := apiaryRecords{say: c.say, names: scheduler.NewNames(c.club), today: today}
			said.Lines = append(said.Lines, p.consequences(made, 0)...)
			tx.Knows(c.by.MemberID, scheduler.Visit{}, made, today)
		}
		return c.by.noteOn(c.r, tx, "change days away", m.Name)
	})
	return said, err
}

// signOut ends for this club whatever lets somebody act as a member, say when a
// phone is lost. What the person does in other clubs is none of its business.
func (c *memberChange) signOut() (notice, error) {
	if !c.form.has("sure") {
		return notice{}, &question{text.New("page.question.sign-out", c.member.Name)}
	}
	err := c.in(func(tx *store.Tx) error {
		if err := tx.SignOutMember(c.ctx, c.member.ID); err != nil {
			return err
		}
		return c.by.noteOn(c.r, tx, "sign out everywhere", c.member.Name)
	})
	return notice{Text: c.say.Say("page.members.signed-out", c.member.Name)}, err
}

// invite mails the invitation again, once a day at most.
func (c *memberChange) invite() (notice, error) {
	by := scheduler.NewNames(c.club).Member(c.by.MemberID)
	err := c.s.cfg.Notify.Invite(c.ctx, c.by.ClubID, c.member.ID, by)
	return notice{Text: c.say.Say("page.members.invited-again", c.member.Name)}, err
}
