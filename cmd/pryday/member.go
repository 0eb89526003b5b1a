package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

type memberCmd struct {
	List   memberListCmd   `cmd:"" default:"withargs" help:"List the members."`
	Add    memberAddCmd    `cmd:"" help:"Add a member."`
	Remove memberRemoveCmd `cmd:"" help:"Take a member out of the club; what they recorded stays."`
	SignIn memberSignInCmd `cmd:"" help:"Print an address that signs a member in once."`
}

type memberListCmd struct {
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Format   string        `enum:"text,json" default:"text" help:"text or json."`
	Database databaseFlags `embed:""`
}

type memberRow struct {
	Name  string         `json:"name"`
	Email string         `json:"email"`
	Role  scheduler.Role `json:"role"`
}

func (c *memberListCmd) Run(ctx context.Context, term *terminal) error {
	rows := []memberRow{}
	err := c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		members, err := tx.Members(ctx)
		for _, m := range members {
			rows = append(rows, memberRow{m.Name, m.Email, m.Role})
		}
		return err
	})
	if err != nil {
		return err
	}
	if c.Format == "json" {
		return writeJSON(term, rows)
	}
	table := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', 0)
	for _, m := range rows {
		fmt.Fprintf(table, "%s\t%s\t%s\n", m.Name, m.Email, term.say.Word(m.Role))
	}
	return table.Flush()
}

type memberAddCmd struct {
	Name     string        `arg:"" help:"The member's name."`
	Email    string        `arg:"" help:"The member's address."`
	Role     string        `enum:"organiser,keeper" default:"keeper" help:"organiser or keeper."`
	Timezone string        `placeholder:"ZONE" help:"IANA zone, as Europe/Oslo; that of the apiary visited when left out."`
	Language string        `default:"en" placeholder:"LANGUAGE" help:"In which mails and pages begin: en or de. The member can choose another."`
	Units    string        `enum:"mm,in" default:"mm" help:"Units of gaps: mm or in."`
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags `embed:""`
}

func (c *memberAddCmd) Run(ctx context.Context, term *terminal) error {
	if c.Timezone != "" && !scheduler.IsZone(c.Timezone) {
		return complain("command.error.timezone", c.Timezone)
	}
	if !strings.Contains(strings.Trim(c.Email, "@"), "@") {
		return complain("command.error.email", c.Email)
	}
	language, err := memberLanguage(c.Language)
	if err != nil {
		return err
	}
	invited := false
	err = c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) (err error) {
		_, invited, err = tx.AddOrInvite(ctx, scheduler.Member{
			Name: c.Name, Email: c.Email, Role: scheduler.Role(c.Role), Timezone: c.Timezone, Language: language, Units: text.Units(c.Units),
		}, "")
		if errors.Is(err, store.ErrExists) {
			return alreadyMember(ctx, tx, c.Email)
		}
		if err != nil {
			return err
		}
		return tx.Note(ctx, 0, "invite member", text.New("audit.about.invited", c.Name, scheduler.Role(c.Role)))
	})
	if err != nil {
		return err
	}
	if invited {
		return term.tell("command.member.asked", c.Name)
	}
	return term.tell("command.member.added", c.Name)
}

// memberLanguage is how a member's record names a language: English is the empty tag.
func memberLanguage(typed string) (string, error) {
	var tags []string
	for i, l := range text.Languages() {
		switch {
		case strings.EqualFold(l.Tag, typed) && i == 0:
			return "", nil
		case strings.EqualFold(l.Tag, typed):
			return l.Tag, nil
		}
		tags = append(tags, l.Tag)
	}
	return "", complain("command.error.language", typed, strings.Join(tags, ", "))
}

// alreadyMember says whose address it is.
func alreadyMember(ctx context.Context, tx *store.Tx, email string) error {
	m, err := memberByEmail(ctx, tx, email)
	if err != nil {
		return err
	}
	return complain("command.error.member-already", m.Email, m.Name)
}

type memberRemoveCmd struct {
	Email    string        `arg:"" help:"The member's address."`
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags `embed:""`
}

func (c *memberRemoveCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		m, err := memberByEmail(ctx, tx, c.Email)
		if err != nil {
			return err
		}
		if err := tx.RemoveMember(ctx, m.ID); err != nil {
			return complain("command.error.remove-member", c.Email, err)
		}
		if err := tx.Audit(ctx, store.AuditEntry{Action: "remove member", Subject: m.Name}); err != nil {
			return err
		}
		return term.tell("command.member.removed", m.Name)
	})
}

// memberByEmail finds a member by address, whatever its case.
func memberByEmail(ctx context.Context, tx *store.Tx, email string) (*scheduler.Member, error) {
	members, err := tx.Members(ctx)
	if err != nil {
		return nil, err
	}
	var known []string
	for i := range members {
		if strings.EqualFold(members[i].Email, email) {
			return &members[i], nil
		}
		known = append(known, members[i].Email)
	}
	return nil, complain("command.error.no-member", email, strings.Join(known, ", "))
}

type memberSignInCmd struct {
	Email     string        `arg:"" help:"The member's address."`
	PublicURL string        `name:"public-url" env:"PRYDAY_PUBLIC_URL" default:"http://127.0.0.1:8080" help:"The address that people reach the service at."`
	Database  databaseFlags `embed:""`
}

func (c *memberSignInCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		person, err := findPerson(ctx, s, c.Email)
		if err != nil {
			return err
		}
		token, err := s.NewSignIn(ctx, person.ID, time.Hour)
		if err != nil {
			return err
		}
		if err := s.NotePerson(ctx, person.ID, "make sign-in address"); err != nil {
			return err
		}
		fmt.Fprintf(term.out, "%s/sign-in/%s\n", strings.TrimRight(c.PublicURL, "/"), token)
		term.warnLocal(c.PublicURL)
		return term.tell("command.member.works-once")
	})
}
