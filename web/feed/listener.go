package feed

import (
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"pryday/store"
)

// The rhythm of the listener.
const (
	pingEvery   = time.Second
	trustFor    = 5 * time.Second // after the sending of the last ping that came back
	answerTime  = 3 * time.Second // for the database to take a ping, or a connection
	longestDeaf = time.Second     // before it tries again
)

// listener hears on a connection of its own what every daemon commits. A
// connection may die without a sign, so it pings itself through the database
// each second: who hears a ping has heard all that was told before it.
type listener struct {
	store   *store.Store
	log     *slog.Logger
	channel string       // of its own pings
	epoch   atomic.Int64 // how often it began to listen: what was rendered before is not to be trusted
	heardAt atomic.Int64 // when the last ping that came back was sent, as nanoseconds since began; 0 never
	began   time.Time
	outage  outage // of the database, as far as anybody noticed
	deaf    bool   // as the log says

	mu       sync.RWMutex
	versions map[int64]int64 // by club, the highest known
}

func newListener(s *store.Store, log *slog.Logger) *listener {
	return &listener{
		store: s, log: log, channel: "pryday_ping_" + rand.Text(), began: time.Now().Add(-time.Second),
		versions: map[int64]int64{},
	}
}

// trusted reports whether the listener knows of all that was committed until
// trustFor ago.
func (e *listener) trusted() bool {
	heard := e.heardAt.Load()
	return heard != 0 && time.Since(e.began)-time.Duration(heard) < trustFor
}

// version is the highest feed version known of a club, 0 for none.
func (e *listener) version(club int64) int64 {
	e.mu.RLock()
	defer e.mu.RUnlock()
	return e.versions[club]
}

// raise notes a version of a club. A lower one than is known changes nothing.
func (e *listener) raise(club, version int64) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.versions[club] = max(e.versions[club], version)
}

// run listens until ctx ends, on a new connection whenever one fails.
func (e *listener) run(ctx context.Context) {
	for wait := time.Duration(0); ctx.Err() == nil; {
		err := e.listen(ctx)
		wait = min(longestDeaf, 2*wait+200*time.Millisecond)
		if heard := e.heardAt.Swap(0); heard != 0 {
			wait = 200 * time.Millisecond
		}
		if ctx.Err() == nil && !e.deaf {
			e.deaf = true // said once
			e.log.Warn("no longer hears of changes; asks the database instead", "err", err)
		}
		select {
		case <-ctx.Done():
		case <-time.After(wait):
		}
	}
}

// listen hears on one connection until that fails.
func (e *listener) listen(ctx context.Context) error {
	connecting, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	conn, err := e.store.Listen(connecting, store.FeedChannel, e.channel)
	if err != nil {
		if silent(err) {
			e.outage.begin()
		}
		return err
	}
	defer func() {
		closing, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		conn.Close(closing)
	}()
	// Listening now, so nothing new is missed. What was missed before is not
	// known: forget everything, and only then trust.
	if err := e.store.ReloadKeys(connecting); err != nil {
		return err
	}
	e.mu.Lock()
	clear(e.versions)
	e.epoch.Add(1)
	e.mu.Unlock()
	for n := 1; ; n++ {
		if err := e.ping(ctx, conn, n); err != nil {
			return err
		}
	}
}

// ping sends one ping and hears whatever comes until the next is due.
func (e *listener) ping(ctx context.Context, conn *pgx.Conn, n int) error {
	sent := time.Now()
	sending, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	ping := strconv.Itoa(n)
	if _, err := conn.Exec(sending, `SELECT pg_notify($1, $2)`, e.channel, ping); err != nil {
		return fmt.Errorf("ping: %w", err)
	}
	hearing, cancel := context.WithDeadline(ctx, sent.Add(pingEvery))
	defer cancel()
	for {
		told, err := conn.WaitForNotification(hearing)
		switch {
		case err != nil && hearing.Err() != nil && ctx.Err() == nil && !conn.IsClosed():
			return nil // time for the next ping
		case err != nil:
			return fmt.Errorf("listen: %w", err)
		case told.Channel != e.channel:
			if err := e.hear(ctx, told); err != nil {
				return err
			}
		case told.Payload == ping:
			e.heardAt.Store(int64(sent.Sub(e.began)))
			e.outage.end()
			if e.deaf {
				e.deaf = false
				e.log.Info("hears of changes again")
			}
		}
	}
}

func (e *listener) hear(ctx context.Context, told *pgconn.Notification) error {
	if told.Payload == store.KeysChanged {
		return e.reloadKeys(ctx)
	}
	club, version, err := store.ParseFeedChange(told.Payload)
	if err != nil { // another program's: whatever it meant, memory is in doubt
		e.log.Error("heard what it does not understand", "err", err)
		e.epoch.Add(1)
		return nil
	}
	e.raise(club, version)
	return nil
}

// reloadKeys reads the signing keys anew, for whatever in this program signs;
// what is in memory was signed by those of before.
func (e *listener) reloadKeys(ctx context.Context) error {
	reading, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	if err := e.store.ReloadKeys(reading); err != nil {
		return err
	}
	e.epoch.Add(1)
	return nil
}
