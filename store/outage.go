package store

import (
	"cmp"
	"context"
	"errors"
	"io"
	"net"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/puddle/v2"
)

// Bounds on waiting for the database, so that nobody waits long to hear that it
// is away.
const (
	connectWait = 10 * time.Second // for a new connection
	pingWait    = 2 * time.Second  // for one at rest to say that it lives
	usualWait   = 10 * time.Second // for a connection at all, also while all are in use
	firstWait   = time.Minute      // for the first of all, of a machine that starts
	longWait    = time.Second / 2  // in vain is not repeated by everybody
	askAgain    = time.Second      // after a long wait in vain, by one for all
)

// ErrAway says that the database did not answer a moment ago, and was not asked
// again.
var ErrAway = errors.New("the database was away a moment ago")

// Away reports whether an error means that the database does not answer or takes
// nobody more, and not that it answered no.
func Away(err error) bool {
	if err == nil || errors.Is(err, context.Canceled) {
		return false
	}
	var answer *pgconn.PgError
	if errors.As(err, &answer) {
		switch answer.Code {
		case "25006", // read_only_sql_transaction: the server is no longer the one that is written to
			"55P03": // lock_not_available: somebody has held it for longer than anybody waits, or a clock was put on
			return true
		}
		switch answer.Code[:min(2, len(answer.Code))] { // classes of SQLSTATE: connection, too little of something, an operator ended it
		case "08", "53", "57":
			return true
		}
		return false
	}
	for _, lost := range []error{ErrAway, context.DeadlineExceeded, io.ErrUnexpectedEOF, net.ErrClosed, puddle.ErrClosedPool} {
		if errors.Is(err, lost) {
			return true
		}
	}
	var connecting *pgconn.ConnectError
	var line net.Error
	return errors.As(err, &connecting) || errors.As(err, &line) || pgconn.SafeToRetry(err)
}

// patience bounds how long a request waits for a connection. Once one has waited
// long and in vain for a database that is away, one at a time asks again each
// second, and the others hear at once that it is away.
type patience struct {
	most   atomic.Int64 // to wait, as a time.Duration
	mu     sync.Mutex
	failed time.Time // when somebody last waited long in vain; zero while the database answers
	asking bool      // somebody finds out whether it is back
}

var _ pgxpool.AcquireTracer = (*patience)(nil)

// patient is what one who waits brings along.
type patient struct {
	asks   bool // for all others
	since  time.Time
	cancel context.CancelFunc
}

type patientKey struct{}

// TraceAcquireStart gives the context in which a connection is waited for.
func (p *patience) TraceAcquireStart(ctx context.Context, _ *pgxpool.Pool, _ pgxpool.TraceAcquireStartData) context.Context {
	me := &patient{since: time.Now()}
	p.mu.Lock()
	away := !p.failed.IsZero()
	if away && !p.asking && time.Since(p.failed) >= askAgain {
		p.asking, me.asks = true, true
	}
	p.mu.Unlock()
	if away && !me.asks {
		refused, cancel := context.WithCancelCause(ctx)
		cancel(ErrAway)
		me.cancel = func() {}
		return context.WithValue(awayContext{refused}, patientKey{}, me)
	}
	most := time.Duration(p.most.Load())
	if me.asks {
		most = min(most, pingWait) // a connection that takes longer is there for the next one
	}
	ctx, me.cancel = context.WithTimeout(ctx, most)
	return context.WithValue(ctx, patientKey{}, me)
}

// awayContext tells why it has ended where others say only that it has.
type awayContext struct{ context.Context }

func (c awayContext) Err() error {
	if c.Context.Err() != nil {
		return ErrAway
	}
	return nil
}

// TraceAcquireEnd learns whether the database answers.
func (p *patience) TraceAcquireEnd(ctx context.Context, pool *pgxpool.Pool, data pgxpool.TraceAcquireEndData) {
	me, ok := ctx.Value(patientKey{}).(*patient)
	if !ok {
		return
	}
	me.cancel()
	p.mu.Lock()
	defer p.mu.Unlock()
	if me.asks {
		p.asking = false
	}
	switch {
	case data.Err == nil:
		p.failed = time.Time{}
	case errors.Is(data.Err, ErrAway), errors.Is(data.Err, context.Canceled):
	case full(pool) && errors.Is(data.Err, context.DeadlineExceeded): // connections come free one by one
	case me.asks, Away(data.Err) && time.Since(me.since) > longWait:
		p.failed = time.Now()
	}
}

func full(pool *pgxpool.Pool) bool {
	s := pool.Stat()
	return s.AcquiredConns() >= s.MaxConns()
}

type endKey struct{}

// TraceQueryStart gives a statement whose context never ends the bound of waiting
// for a connection: the session library has none to give.
func (p *patience) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	if ctx.Done() != nil {
		return ctx
	}
	ctx, cancel := context.WithTimeout(ctx, time.Duration(p.most.Load()))
	return context.WithValue(ctx, endKey{}, cancel)
}

// TraceQueryEnd ends what TraceQueryStart began. Whoever waited so long in vain has
// waited for all others, too.
func (p *patience) TraceQueryEnd(ctx context.Context, _ *pgx.Conn, data pgx.TraceQueryEndData) {
	cancel, ok := ctx.Value(endKey{}).(context.CancelFunc)
	if !ok {
		return
	}
	cancel()
	if errors.Is(data.Err, context.DeadlineExceeded) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.failed = time.Now()
	}
}

// reach bounds how long connecting takes, and finds out when a server is gone
// without a word.
func reach(c *pgxpool.Config) {
	c.ConnConfig.ConnectTimeout = connectWait
	c.PingTimeout = pingWait
	dialer := &net.Dialer{KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 10 * time.Second, Interval: 3 * time.Second, Count: 3}}
	c.ConnConfig.DialFunc = dialer.DialContext
}

// bound gives a pool's connections their bounds; the function that it returns is
// for when the first one is there.
func bound(c *pgxpool.Config, most time.Duration) (settle func()) {
	reach(c)
	p := &patience{}
	p.most.Store(int64(firstWait))
	c.ConnConfig.Tracer = p
	return func() { p.most.Store(int64(cmp.Or(most, usualWait))) }
}
