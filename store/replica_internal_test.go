package store

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

// TestReplicaLag: the lag is the age of the oldest of what the replica lacks.
func TestReplicaLag(t *testing.T) {
	t.Parallel()
	begun := time.Date(2027, time.May, 3, 9, 0, 0, 0, time.UTC)
	at := func(s int) time.Time { return begun.Add(time.Duration(s) * time.Second) }
	r := &replica{}
	for _, step := range []struct {
		second            int
		primary, replayed Position
		want              int // seconds
	}{
		{0, 100, 100, 0},
		{1, 200, 100, 0}, // seen this moment
		{2, 300, 100, 1},
		{3, 300, 250, 1}, // lacks what was first seen in second 2
		{4, 300, 300, 0},
		{5, 300, 300, 0}, // nothing is written: nothing is lacked
		{6, 400, 390, 0},
		{7, 500, 390, 1},
		{60, 500, 390, 54},
		{61, 500, 500, 0},
	} {
		r.mark(at(step.second), step.primary)
		if got := r.catchUp(at(step.second), step.replayed); got != time.Duration(step.want)*time.Second {
			t.Errorf("second %d: %s behind, want %ds", step.second, got, step.want)
		}
	}
	for i := range 3 * mostLagMarks {
		r.mark(at(100+i), Position(1000+i))
	}
	if len(r.marks) > mostLagMarks {
		t.Errorf("%d marks are kept of a replica that stands still", len(r.marks))
	}
}

// TestWhoMayReadFromAReplica: only who asked for it, and has neither written nor seen
// more than it has.
func TestWhoMayReadFromAReplica(t *testing.T) {
	t.Parallel()
	c, err := pgxpool.ParseConfig("host=/nowhere dbname=none")
	if err != nil {
		t.Fatal(err)
	}
	nobody, err := pgxpool.NewWithConfig(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	defer nobody.Close()
	s := &Store{replica: &replica{pool: nobody}}
	s.replica.replayed.Store(500)
	seen := func(p Position) *Reader { return &Reader{seen: p} }
	wrote := seen(0)
	wrote.wrote.Store(true)
	for _, c := range []struct {
		name   string
		used   bool
		lag    bool
		reader *Reader
		want   bool
	}{
		{"nobody in particular", true, true, nil, true},
		{"who did not ask for it", true, false, nil, false},
		{"a replica that is away", false, true, nil, false},
		{"who saw what it has", true, true, seen(500), true},
		{"who saw more", true, true, seen(501), false},
		{"who has just written", true, true, wrote, false},
	} {
		s.replica.used.Store(c.used)
		ctx := t.Context()
		if c.reader != nil {
			ctx, _ = WithReader(ctx, c.reader.seen)
			ctx.Value(readerKey{}).(*Reader).wrote.Store(c.reader.wrote.Load())
		}
		if c.lag {
			ctx = MayLag(ctx)
		}
		if got := s.lagging(ctx) != nil; got != c.want {
			t.Errorf("%s: reads from the replica %t", c.name, got)
		}
	}
}

// TestSeveralServers: of several, the one that may be written to is taken.
func TestSeveralServers(t *testing.T) {
	t.Parallel()
	for url, validated := range map[string]bool{
		"postgres://pryday_app@one/pryday":                                         false,
		"postgres://pryday_app@one,two/pryday":                                     true,
		"postgres://pryday_app@one:5432,one:5433/pryday?sslmode=disable":           true,
		"postgres://pryday_app@one,two/pryday?target_session_attrs=prefer-standby": true,
		"postgres://pryday_app@one/pryday?target_session_attrs=read-write":         true,
	} {
		c, err := roleConfig(url)
		if err != nil {
			t.Fatal(err)
		}
		if (c.ConnConfig.ValidateConnect != nil) != validated {
			t.Errorf("%s: looks at the server %t", url, c.ConnConfig.ValidateConnect != nil)
		}
	}
}
