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

// away reports whether an error means that the database does not answer, and
// not that it answered no.
func away(err error) bool {
	if errors.Is(err, store.ErrNotFound) || errors.Is(err, errUnwritable) || errors.Is(err, errAway) || errors.Is(err, errOvertaken) {
		return false
	}
	var answer *pgconn.PgError
	if !errors.As(err, &answer) {
		return true
	}
	switch answer.Code[:2] { // classes of SQLSTATE: connection, too little of something, an operator ended it
	case "08", "53", "57":
		return true
	}
	return false
}

// errAway stands for a database that was away a moment ago.
var errAway = errors.New("the database was away a moment ago")

// outage remembers for a short while that the database did not answer, so
// that not every request waits for it.
type outage struct{ until atomic.Int64 }

const outageFor = 2 * time.Second

func (o *outage) begin()    { o.until.Store(time.Now().Add(outageFor).UnixNano()) }
func (o *outage) end()      { o.until.Store(0) }
func (o *outage) now() bool { return time.Now().UnixNano() < o.until.Load() }
