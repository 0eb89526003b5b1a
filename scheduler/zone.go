package scheduler

import (
	"slices"
	"sync"
	"time"
)

// MemberLocation returns the zone in which a member's days begin: the
// member's own, else that of the first apiary that the member looks after,
// else of the club's first apiary, else UTC. A name that is no IANA zone
// counts as none.
func MemberLocation(c *Club, m *Member) *time.Location {
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
		loc = nil
	}
	zones.Store(name, loc)
	return loc
}
