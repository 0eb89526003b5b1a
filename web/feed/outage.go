package feed

import (
	"errors"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"pryday/store"
)

// errUnwritable is about one calendar, whatever the state of the database.
var errUnwritable = errors.New("the calendar cannot be written")

// outage remembers that the database did not answer, so that not every request
// waits for it. It is over when the listener, which tries each second, hears a ping.
type outage struct{ until atomic.Int64 }

// outageFor is longer than the listener takes to try again in vain.
const outageFor = 6 * time.Second

func (o *outage) begin()    { o.until.Store(time.Now().Add(outageFor).UnixNano()) }
func (o *outage) end()      { o.until.Store(0) }
func (o *outage) now() bool { return time.Now().UnixNano() < o.until.Load() }

// glance is how long whoever has a copy in memory waits for the database while
// nothing is heard of it.
const glance = 300 * time.Millisecond

type given[T any] struct {
	value T
	err   error
}

// soon returns what the database gives, or store.ErrAway where that takes long and
// nothing else is heard of the database. What was asked for goes on.
func soon[T any](l *listener, ask func() (T, error)) (T, error) {
	answer := make(chan given[T], 1)
	go func() {
		v, err := ask()
		answer <- given[T]{v, err}
	}()
	each := time.NewTicker(glance)
	defer each.Stop()
	for {
		select {
		case a := <-answer:
			return a.value, a.err
		case <-each.C:
			if !l.trusted() {
				var none T
				return none, store.ErrAway
			}
		}
	}
}

// silent reports whether an attempt to connect found no database at all, or one
// that is only starting.
func silent(err error) bool {
	var answer *pgconn.PgError
	return store.Away(err) && (!errors.As(err, &answer) || answer.Code == "57P03")
}
