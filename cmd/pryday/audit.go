package main

import (
	"context"
	"os"
	"os/user"
	"slices"
	"strconv"
	"strings"

	"pryday/store"
)

type auditCmd struct {
	Verify auditVerifyCmd `cmd:"" help:"Go through every club's trail and say the first entry that does not fit."`
}

type auditVerifyCmd struct {
	Last     []string      `placeholder:"HASH" help:"The hash of an entry that was noted elsewhere, as in the daemon's log: it must be in a trail still. More of them after commas."`
	Database databaseFlags `embed:""`
}

// Help is what the one line does not say.
func (c *auditVerifyCmd) Help() string {
	return `Each entry carries a hash over itself and the one before of its club. What was changed,
taken away or put elsewhere since is found by that, unless whoever did it owns the database
and wrote all that follows anew, or cleared the oldest before their time. Keep the newest
hash elsewhere, where they cannot reach it; the daemon logs it each night. With --last the
trail must still have that entry. The exit status is 1 when something does not fit.`
}

// Run says of each club whether its trail fits, and where it ends.
func (c *auditVerifyCmd) Run(ctx context.Context, term *terminal) error {
	for i, hash := range c.Last {
		c.Last[i] = strings.ToLower(strings.TrimSpace(hash))
		if !isHash(c.Last[i]) {
			return complain("command.error.audit-hash", hash)
		}
	}
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		all, err := clubs(ctx, s)
		if err != nil {
			return err
		}
		var broken []string
		gone := slices.Clone(c.Last)
		for _, club := range all {
			var found store.AuditFinding
			if err := s.InSnapshot(ctx, club.ID, func(tx *store.Tx) (err error) {
				found, err = tx.VerifyAudit(ctx, c.Last...)
				return err
			}); err != nil {
				return err
			}
			if found.Fault != "" {
				broken = append(broken, club.Name)
			}
			gone = slices.DeleteFunc(gone, func(hash string) bool { return slices.Contains(found.Held, hash) })
			if err := term.tell("command.audit.found", club.Name, found.Text()); err != nil {
				return err
			}
			if found.End.Number > 0 {
				if err := term.tell("command.audit.newest", found.End.Number, found.End.Hash); err != nil {
					return err
				}
			}
		}
		switch {
		case len(broken) > 0:
			return complain("command.error.audit-broken", strings.Join(broken, ", "))
		case len(gone) > 0:
			return complain("command.error.audit-gone", strings.Join(gone, ", "))
		}
		return nil
	})
}

// isHash reports whether somebody typed all of a SHA-256 in hexadecimal digits.
func isHash(typed string) bool {
	return len(typed) == 64 && strings.Trim(typed, "0123456789abcdef") == ""
}

// whoTypes is the operating system's name of whoever gives a command.
func whoTypes() string {
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return strconv.Itoa(os.Getuid())
}
