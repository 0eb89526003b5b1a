package store_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"pryday/store"
	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

func TestAway(t *testing.T) {
	code := func(c string) error { return &pgconn.PgError{Code: c} }
	for _, c := range []struct {
		err  error
		away bool
	}{
		{nil, false},
		{store.ErrNotFound, false},
		{store.ErrAway, true},
		{context.Canceled, false}, // who asked went away
		{&net.OpError{Op: "dial", Err: context.Canceled}, false}, // the same, while connecting
		{context.DeadlineExceeded, true},
		{io.ErrUnexpectedEOF, true},
		{&net.OpError{Op: "read", Err: errors.New("broken pipe")}, true},
		{code("57P01"), true}, // admin_shutdown; the codes are of PostgreSQL's manual, appendix A
		{code("57P03"), true}, // cannot_connect_now
		{code("53300"), true}, // too_many_connections
		{code("08006"), true}, // connection_failure
		{code("55P03"), true}, // lock_not_available
		{code("23505"), false},
		{code("40P01"), false},
		{code("42601"), false},
		{errors.New("a mistake of ours"), false},
	} {
		if c.err != nil {
			c.err = fmt.Errorf("read the club: %w", c.err)
		}
		if got := store.Away(c.err); got != c.away {
			t.Errorf("%v: away %t", c.err, got)
		}
	}
}

// impatient waits for the database less than usual.
func impatient(t *testing.T, url string, connections int32) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), store.Config{URL: url, MaxConns: connections, MaxWait: 700 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// A database that takes connections and says nothing is noticed, once for all;
// when it is back, so is the service.
func TestSilentDatabaseIsNoticedOnce(t *testing.T) {
	t.Parallel()
	wire := storetest.NewWire(t, storetest.New(t))
	s := impatient(t, wire.URL, 2)
	if _, err := s.ClubIDs(t.Context()); err != nil {
		t.Fatal(err)
	}
	s.Pool().Reset() // as after a second at rest: the next one makes sure that its connection lives
	wire.Hang()
	if _, err := s.ClubIDs(t.Context()); !store.Away(err) || errors.Is(err, store.ErrAway) {
		t.Errorf("the first who asks: %v", err)
	}
	if _, err := s.ClubIDs(t.Context()); !errors.Is(err, store.ErrAway) {
		t.Errorf("the second: %v", err)
	}
	testrun.Until(t, "somebody asks again, in vain", func() bool { _, err := s.ClubIDs(t.Context()); return !errors.Is(err, store.ErrAway) })
	wire.Mend()
	testrun.Until(t, "it is back", func() bool { _, err := s.ClubIDs(t.Context()); return err == nil })
	for range 2 {
		held, err := s.Pool().Acquire(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer held.Release()
	}
	wait := make(chan error)
	for range 2 {
		go func() { _, err := s.ClubIDs(t.Context()); wait <- err }()
	}
	for range 2 {
		if err := <-wait; errors.Is(err, store.ErrAway) {
			t.Error("of two who wait for a database that is back, one is told that it is away")
		}
	}
}

// A statement on its way when the database falls silent ends, though its context
// never does.
func TestStatementOnItsWayEnds(t *testing.T) {
	t.Parallel()
	wire := storetest.NewWire(t, storetest.New(t))
	s := impatient(t, wire.URL, 2)
	held, err := s.Pool().Acquire(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer held.Release()
	wire.Hang()
	if _, err := held.Exec(context.Background(), `SELECT 1`); !store.Away(err) {
		t.Errorf("it ends with %v", err)
	}
	if _, err := s.ClubIDs(t.Context()); !errors.Is(err, store.ErrAway) {
		t.Errorf("the next who asks: %v", err)
	}
}

// Connections that are all in use are waited for, for a while; nobody else is
// refused for it.
func TestConnectionsUsedUp(t *testing.T) {
	t.Parallel()
	s := impatient(t, storetest.New(t), 1)
	held, err := s.Pool().Acquire(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, err := s.ClubIDs(t.Context()); !store.Away(err) || errors.Is(err, store.ErrAway) {
			t.Errorf("with no connection left: %v", err)
		}
	}
	held.Release()
	if _, err := s.ClubIDs(t.Context()); err != nil {
		t.Errorf("with one again: %v", err)
	}
}
