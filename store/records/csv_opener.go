package records

import (
	"strings"

	"pryday/scheduler"
)

// FindOpener reads who opened a box: the address or the name of a member, or the
// name of somebody without an account. why is the key of what is wrong with it.
func FindOpener(c *scheduler.Club, who string) (by scheduler.Opener, why string) {
	for i := range c.Members {
		m := &c.Members[i]
		switch {
		case strings.EqualFold(m.Email, who):
			return scheduler.Opener{Member: m.ID}, ""
		case m.Name != who:
		case by.Member != 0:
			return by, "records.why.several-members"
		default:
			by.Member = m.ID
		}
	}
	switch {
	case by.Member != 0:
		return by, ""
	case strings.Contains(who, "@"):
		return by, "records.why.no-member"
	}
	return scheduler.Opener{Name: who}, ""
}

// OpenerName writes who made an opening as FindOpener reads it; empty where nobody
// knows.
func OpenerName(c *scheduler.Club, o *scheduler.Opening) string {
	by := o.OpenedBy()
	if m := c.Member(by.Member); m != nil {
		return m.Email
	}
	return by.Name
}

// otherOpener reports whether a row names somebody else than a recorded opening;
// a row that names nobody does not.
func (l *openingList) otherOpener(row *listedOpening, old *scheduler.Opening) bool {
	return row.Opener != nil && *row.Opener != old.OpenedBy() && row.Opener.Name != OpenerName(l.club, old)
}
