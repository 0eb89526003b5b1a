package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river/rivertype"

	"pryday/migrations"
	"pryday/scheduler"
)

// ServiceCounts are how much there is of what, over all clubs, for whoever
// watches the service. No number is told apart by club, person or address.
type ServiceCounts struct {
	Messages    map[MessageState]int
	Recorded    int // messages in all
	Owed        map[OwedPart]int
	OldestOwed  time.Duration // since when the message that is owed longest is owed; 0 where none is
	MailToRead  int           // came in and was not read yet
	Jobs        map[rivertype.JobState]int
	OldestJob   time.Duration // how long the job that waits longest could have run; 0 where none waits
	Database    int64         // bytes
	Clubs       int           // with an apiary
	ClubsBehind int           // of those, without a plan for their present day by the rules in force
	OldestPlan  time.Duration // since the beginning of the day that the oldest plan is for; 0 where there is none
	Postgres    string        // the server's version
	Schema      int64
}

// OwedPart tells owed messages apart.
type OwedPart struct {
	Tried bool
	Age   OwedAge
}

// OwedAge is how long ago a message began to be owed.
type OwedAge string

// The ages of what is owed.
const (
	OwedThisHour OwedAge = "hour" // less than an hour
	OwedThisDay  OwedAge = "day"  // less than 24
	OwedOlder    OwedAge = "older"
)

// MessageStates are all states of a message.
var MessageStates = []MessageState{Owed, Sent, PassedOver, Refused, GivenUp}

// ServiceCounts counts at an instant; civil says which day it is in each club.
func (s *Store) ServiceCounts(ctx context.Context, now, civil time.Time) (*ServiceCounts, error) {
	c := &ServiceCounts{Messages: map[MessageState]int{}, Owed: map[OwedPart]int{}, Jobs: map[rivertype.JobState]int{}, Schema: migrations.Latest()}
	var b pgx.Batch
	b.Queue(`SELECT current_setting('server_version')`).QueryRow(func(row pgx.Row) error { return row.Scan(&c.Postgres) })
	b.Queue(`SELECT what, part, value FROM service_counts($1)`, now).Query(func(rows pgx.Rows) error {
		var what, part string
		var value float64
		_, err := pgx.ForEachRow(rows, []any{&what, &part, &value}, func() error { return c.note(what, part, value) })
		return err
	})
	b.Queue(`SELECT zone, planned_on, other_rules FROM club_plans()`).Query(func(rows pgx.Rows) error {
		var zone string
		var planned *scheduler.Date
		var otherRules bool
		_, err := pgx.ForEachRow(rows, []any{&zone, &planned, &otherRules}, func() error {
			c.notePlan(&scheduler.Club{Apiaries: []scheduler.Apiary{{Timezone: zone}}}, planned, otherRules, civil)
			return nil
		})
		return err
	})
	if err := s.pool.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("count for metrics: %w", err)
	}
	return c, nil
}

func (c *ServiceCounts) note(what, part string, value float64) error {
	switch what {
	case "messages":
		c.Messages[MessageState(part)] = int(value)
	case "messages recorded":
		c.Recorded = int(value)
	case "untried", "tried":
		c.Owed[OwedPart{Tried: what == "tried", Age: OwedAge(part)}] = int(value)
	case "oldest owed":
		c.OldestOwed = seconds(value)
	case "mail to read":
		c.MailToRead = int(value)
	case "jobs":
		c.Jobs[rivertype.JobState(part)] = int(value)
	case "oldest job":
		c.OldestJob = seconds(value)
	case "database bytes":
		c.Database = int64(value)
	default:
		return fmt.Errorf("service_counts has %q, which nobody knows", what)
	}
	return nil
}

// notePlan notes how old a club's plan is. One that was never planned is
// behind, and has no age.
func (c *ServiceCounts) notePlan(club *scheduler.Club, planned *scheduler.Date, otherRules bool, civil time.Time) {
	c.Clubs++
	if planned == nil || otherRules || *planned < club.Today(civil) {
		c.ClubsBehind++
	}
	if planned != nil {
		c.OldestPlan = max(c.OldestPlan, civil.Sub(planned.At(0, club.Zone())))
	}
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// PoolState is how the connections that pages and feeds share are used.
type PoolState struct {
	Used, Idle, Most int
	Waits            int64         // times that somebody waited for one
	Waited           time.Duration // in all
}

// PoolState returns the serving pool's state.
func (s *Store) PoolState() PoolState { return poolState(s.pool.Stat()) }

func poolState(s *pgxpool.Stat) PoolState {
	return PoolState{
		Used: int(s.AcquiredConns()), Idle: int(s.IdleConns()), Most: int(s.MaxConns()),
		Waits: s.EmptyAcquireCount(), Waited: s.EmptyAcquireWaitTime(),
	}
}
