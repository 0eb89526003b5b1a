package scheduler

import (
	"slices"
	"sync"
	"time"
)

// Today returns the civil day at an apiary at an instant. Openings, visits
// and all that happens at one place are dated by it: whoever stands there
// reads it off the same clock, wherever they live.
func (a *Apiary) Today(now time.Time) Date { return DateOf(now.In(a.zone())) }

// Today returns the civil day of a club at an instant. What looks at several
// apiaries at once is dated by it: the nightly plan, lists, the rules, files.
// It is the day at the club's first apiary, since a club has one day and its
// apiaries may lie in several zones; a club that has no apiary yet counts its
// days in UTC, like the database. The club must hold all its apiaries, though
// not what stands there.
func (c *Club) Today(now time.Time) Date { return DateOf(now.In(c.Zone())) }

// TodayOf returns the civil day of a member at an instant. Mail, a calendar
// and days away are dated by it: they are read and meant where the member is.
func (c *Club) TodayOf(m *Member, now time.Time) Date { return DateOf(now.In(c.ZoneOf(m))) }

// Zone returns the zone in which the days of a club begin, see Today.
func (c *Club) Zone() *time.Location { return c.ZoneOf(&Member{}) }

// ZoneOf returns the zone in which a member's days begin: the member's own,
// else that of the first apiary that the member looks after, else of the
// club's first apiary, else UTC. A name that is no IANA zone counts as none.
func (c *Club) ZoneOf(m *Member) *time.Location {
	if loc := zone(m.Timezone); loc != nil {
		return loc
	}
	for _, own := range []bool{true, false} {
		for i := range c.Apiaries {
			a := &c.Apiaries[i]
			if own && !slices.Contains(a.Keepers, m.ID) {
				continue
			}
			if loc := zone(a.Timezone); loc != nil {
				return loc
			}
		}
	}
	return time.UTC
}

// zone is UTC where the records name none: they are checked, and have one.
func (a *Apiary) zone() *time.Location {
	if loc := zone(a.Timezone); loc != nil {
		return loc
	}
	return time.UTC
}

// IsZone reports whether a name is that of an IANA zone that this program
// knows: Europe/Vienna, not the empty name and not the machine's "Local".
func IsZone(name string) bool { return zone(name) != nil }

// zones keeps zones once read: reading one costs more than all that is
// decided with it, and a name always means the same zone.
var zones sync.Map

func zone(name string) *time.Location {
	if name == "" || name == "Local" {
		return nil
	}
	if loc, ok := zones.Load(name); ok {
		return loc.(*time.Location)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil // and not kept: of names that strangers make up there is no end
	}
	zones.Store(name, loc)
	return loc
}
