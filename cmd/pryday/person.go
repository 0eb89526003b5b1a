package main

import (
	"context"
	"errors"
	"fmt"

	"pryday/store"
)

type personCmd struct {
	Erase personEraseCmd `cmd:"" help:"Erase a person from all clubs; what they did to boxes stays."`
	Data  personDataCmd  `cmd:"" help:"Print all that is kept about a person, as JSON."`
}

type personEraseCmd struct {
	Address  string        `arg:"" help:"The person's e-mail address."`
	Yes      bool          `help:"Do not ask for the address again."`
	Database databaseFlags `embed:""`
}

// Help is what the one line does not say.
func (c *personEraseCmd) Help() string {
	return `Name and address go from members, messages and the trail of changes of every club; their
calendar addresses end. What they did to boxes stays, as done by a former member, and so
does what somebody wrote into a note. The last organiser of a club is erased only after
somebody else is one. Backups that were made before still have the person.`
}

func (c *personEraseCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		person, err := findPerson(ctx, s, c.Address)
		if err != nil {
			return err
		}
		if !c.Yes {
			if err := term.typeAgain("command.person.type-again", person.Email); err != nil {
				return err
			}
		}
		err = s.ErasePerson(ctx, person.ID)
		var last *store.LastOrganiserError
		if errors.As(err, &last) {
			return complain("command.error.last-organiser", person.Email, last.Clubs)
		}
		if err != nil {
			return err
		}
		return term.tell("command.person.erased", person.Email)
	})
}

type personDataCmd struct {
	Address  string        `arg:"" help:"The person's e-mail address."`
	Database databaseFlags `embed:""`
}

func (c *personDataCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		person, err := findPerson(ctx, s, c.Address)
		if err != nil {
			return err
		}
		data, err := s.PersonData(ctx, person.ID)
		if err != nil {
			return err
		}
		if err := s.NotePerson(ctx, person.ID, store.TookData); err != nil {
			return err
		}
		_, err = fmt.Fprintln(term.out, string(data))
		return err
	})
}

func findPerson(ctx context.Context, s *store.Store, address string) (*store.Person, error) {
	person, err := s.PersonByEmail(ctx, address)
	if errors.Is(err, store.ErrNotFound) {
		err = complain("command.error.no-person", address)
	}
	return person, err
}
