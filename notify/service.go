// Package notify tells people: it decides what is owed to whom, records that,
// and delivers it until it is done.
//
// A tick every minute asks package scheduler what is owed and records
// each message together with its delivery job in one transaction. Workers take
// the jobs, render the message from the records as they are by then, hand it to
// a Sender, and note what came of it. A daemon that dies in between loses
// nothing: the job is taken up again by another, or by the next one.
package notify

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	netmail "net/mail"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/robfig/cron/v3"

	"pryday/notify/inbox"
	"pryday/notify/mail"
	"pryday/store"
)

// Config says who is told, by whom, and with what.
type Config struct {
	Store     *store.Store
	Sender    Sender
	Clock     Clock           // nil means RealClock
	PublicURL *url.URL        // where people reach the service
	From      netmail.Address // an empty name takes the club's
	DKIM      *DKIM           // nil: unsigned
	ReplyTo   string          // the address that replies and bounces come to; empty takes none in
	Logger    *slog.Logger    // nil means slog.Default
	Workers   int             // messages under way at once; 0 means 4, as many as SMTP connections
}

// Service decides and delivers. Make one with New, and Start it once.
type Service struct {
	store   *store.Store
	sender  Sender
	clock   Clock
	log     *slog.Logger
	workers int
	ahead   func(club int64, clubs int) time.Duration // see aheadOf
	timeout time.Duration                             // of a job
	rescue  time.Duration                             // a job that ran longer was cut off
	signer  *Signer
	writer  *writer
	inbox   *inbox.Desk // nil where nothing is taken in
	count   counts

	pool     *pgxpool.Pool
	jobs     *river.Client[pgx.Tx]
	cron     *cron.Cron
	cancel   context.CancelFunc
	stopping atomic.Bool
	ticking  sync.Mutex

	background sync.WaitGroup // what Start began

	mu      sync.Mutex
	waiting map[int64]waiting
	with    map[int64]int64     // by club: the lowest that shares people with it
	taken   map[delivery]string // what servers answered that took a message, until it is on record
	inHand  map[delivery]bool   // messages of attempts under way
}

// The specs are ours alone, so none can be wrong at run time. The tick of every
// minute has none: tickEveryMinute.
const (
	tendSpec = "7 * * * *"
	// Once a day, at an hour when nobody is mailed in most zones. Once at the
	// start too, where the hour may have been missed; a second time finds nothing.
	clearSpec = "23 2 * * *"
)

// New prepares the service; nothing runs before Start.
func New(ctx context.Context, c Config) (*Service, error) {
	if c.Store == nil || c.Sender == nil {
		return nil, errors.New("notify: a store and a sender are needed")
	}
	if c.PublicURL == nil || c.PublicURL.Host == "" {
		return nil, fmt.Errorf("notify: public address %v: want one such as https://bees.example.org", c.PublicURL)
	}
	// A wrong address of ours must not look like a wrong one of a member's.
	if _, err := mail.Build(&mail.Mail{}, mail.Envelope{From: c.From, To: c.From, MessageID: "1@localhost", Date: time.Unix(1, 0)}); err != nil {
		return nil, fmt.Errorf("notify: mail from %q: want an address such as reminders@example.org: %w", c.From.Address, err)
	}
	if c.Clock == nil {
		c.Clock = RealClock{}
	}
	keys, err := c.Store.Keys(ctx, "mailed addresses")
	if err != nil {
		return nil, fmt.Errorf("notify: %w", err)
	}
	signer := NewSigner(keys.Valid)
	s := &Service{
		store: c.Store, sender: c.Sender, clock: c.Clock, log: cmp.Or(c.Logger, slog.Default()), workers: cmp.Or(c.Workers, 4),
		ahead: aheadOf, timeout: jobTimeout, rescue: rescueAfter,
		signer: signer, waiting: map[int64]waiting{}, taken: map[delivery]string{}, inHand: map[delivery]bool{},
	}
	s.writer = &writer{
		store: c.Store, clock: c.Clock, from: c.From, dkim: c.DKIM,
		addresses: addresses{public: c.PublicURL, sign: signer}, records: &recordsCache{},
	}
	if c.ReplyTo != "" {
		replies, err := inbox.NewAddresses(c.ReplyTo, keys.Valid)
		if err != nil {
			return nil, fmt.Errorf("notify: %w", err)
		}
		s.writer.replies = replies
		s.inbox = inbox.NewDesk(inbox.Config{
			Store: c.Store, Addresses: replies, PublicURL: c.PublicURL, Now: c.Clock.Now, Civil: c.Clock.Civil, Logger: s.log.With("part", "inbox"),
		})
	}
	return s, nil
}

// Inbox takes in what comes back; nil where no reply address is configured.
func (s *Service) Inbox() *inbox.Desk { return s.inbox }

// Signer knows the tokens in the addresses that were mailed.
func (s *Service) Signer() *Signer { return s.signer }

// Start runs the workers and the tick of every minute until Stop. It ticks once at
// the start, which catches up on the time when nothing ran. The context is
// that of starting, not of running.
func (s *Service) Start(ctx context.Context) error {
	if s.jobs != nil {
		return errors.New("notify: started already")
	}
	var err error
	// The job engine has a pool of its own: it listens on one connection, and
	// must not wait for those that pages and planning hold.
	if s.pool, err = s.store.JobsPool(ctx, 6); err != nil {
		return fmt.Errorf("notify: %w", err)
	}
	workers := river.NewWorkers()
	river.AddWorker(workers, &deliverer{Service: s})
	river.AddWorker(workers, &replanner{Service: s})
	river.AddWorker(workers, &mailReader{Service: s})
	s.jobs, err = river.NewClient(riverpgxv5.New(s.pool), &river.Config{
		Queues: map[string]river.QueueConfig{
			river.QueueDefault: {MaxWorkers: s.workers},
			// A night of a thousand clubs keeps nobody's mail waiting, nor more than
			// half of the connections that pages are answered with.
			store.PlanQueue: {MaxWorkers: max(1, int(s.store.Pool().Config().MaxConns)/4)},
		},
		Workers:              workers,
		JobTimeout:           s.timeout,
		RescueStuckJobsAfter: s.rescue,
		FetchCooldown:        5 * time.Millisecond,
		ReindexerIndexNames:  []string{}, // only the owner of the tables can
		Logger:               s.log.With("part", "jobs"),
	})
	if err != nil {
		s.pool.Close()
		return fmt.Errorf("notify: job engine: %w", err)
	}
	running, cancel := context.WithCancel(context.WithoutCancel(ctx))
	s.cancel = cancel
	if err := s.jobs.Start(running); err != nil {
		cancel()
		s.pool.Close()
		return fmt.Errorf("notify: job engine: %w", err)
	}
	s.cron = cron.New(cron.WithLocation(time.UTC), cron.WithChain(
		cron.Recover(cron.PrintfLogger(slog.NewLogLogger(s.log.Handler(), slog.LevelError))),
		cron.SkipIfStillRunning(cron.DiscardLogger)))
	for spec, work := range map[string]func(context.Context) error{
		tendSpec:  s.tend,
		clearSpec: s.clear,
	} {
		if _, err := s.cron.AddFunc(spec, func() { s.run(running, work) }); err != nil {
			cancel()
			s.pool.Close()
			return fmt.Errorf("notify: %q: %w", spec, err)
		}
	}
	s.cron.Start()
	s.background.Go(func() {
		s.run(running, s.tend)
		s.run(running, func(ctx context.Context) error { return second(s.Tick(ctx)) })
		s.run(running, s.clear)
	})
	s.background.Go(func() { s.tickEveryMinute(running) })
	return nil
}

// run does something of the schedule's; the next time comes whatever fails.
func (s *Service) run(ctx context.Context, work func(context.Context) error) {
	if err := work(ctx); err != nil && ctx.Err() == nil {
		s.log.Error("tick", "err", err)
	}
}

// Tick decides what is owed now. The daemon does so by itself every
// minute; tests and the demonstration do not wait for that.
func (s *Service) Tick(ctx context.Context) (Report, error) {
	return s.tick(ctx, false)
}

// TickWhereNeeded is Tick but for the clubs that cannot owe anything new since
// they were looked at last, as the schedule does it.
func (s *Service) TickWhereNeeded(ctx context.Context) (Report, error) {
	return s.tick(ctx, true)
}

// tick decides what is owed, with quiet set only of clubs that can owe anything
// new; one at a time.
func (s *Service) tick(ctx context.Context, quiet bool) (Report, error) {
	s.ticking.Lock()
	defer s.ticking.Unlock()
	begun := time.Now()
	r, err := s.decide(ctx, quiet)
	if ctx.Err() == nil { // cut off is neither done nor failed
		s.count.ticked(s.clock.Now(), time.Since(begun), err)
	}
	s.log.Debug("tick", "clubs", r.Clubs, "owed", r.New, "passed_over", r.PassedOver, "waiting", r.Waiting, "took", time.Since(begun))
	return r, err
}

func second[T any](_ T, err error) error { return err }

// tend gives messages a job again that have lost theirs.
func (s *Service) tend(ctx context.Context) error {
	ids, err := s.store.ClubIDs(ctx)
	if err != nil {
		return fmt.Errorf("look for messages without a job: %w", err)
	}
	var failed []error
	for _, id := range ids {
		failed = append(failed, s.store.InClub(ctx, id, func(tx *store.Tx) error {
			n, err := tx.OweDelivery(ctx)
			if n > 0 {
				s.log.Warn("messages had lost their delivery jobs", "club", id, "messages", n)
			}
			if err != nil || s.inbox == nil {
				return err
			}
			return s.inbox.Tend(ctx, tx)
		}))
	}
	return errors.Join(failed...)
}

// clear takes away what has been kept for its time.
func (s *Service) clear(ctx context.Context) error {
	gone, err := s.store.Clear(ctx, s.clock.Civil())
	if gone != (store.Cleared{}) {
		s.log.Info("cleared what was kept for its time", "messages", gone.Messages, "told", gone.Told, "audit", gone.Audit, "sources", gone.Sources, "tokens", gone.Tokens)
	}
	return errors.Join(err, s.logAuditEnds(ctx))
}

// logAuditEnds writes where each club's audit ends: whoever rewrites the
// database cannot rewrite this too where logs are kept elsewhere.
func (s *Service) logAuditEnds(ctx context.Context) error {
	ids, err := s.store.ClubIDs(ctx)
	if err != nil {
		return err
	}
	for _, id := range ids {
		if err := s.store.InSnapshot(ctx, id, func(tx *store.Tx) error {
			end, err := tx.AuditEnd(ctx)
			if end.Number > 0 {
				s.log.Info("where the audit ends", "club", id, "number", end.Number, "hash", end.Hash)
			}
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}

// Stop ends the tick and lets attempts under way come to their end, until ctx
// is done; what is then cut off is taken up again later.
func (s *Service) Stop(ctx context.Context) error {
	if s.jobs == nil {
		return errors.Join(s.sender.Close())
	}
	s.stopping.Store(true)
	ticks := s.cron.Stop()
	err := s.jobs.Stop(ctx)
	if err != nil {
		// The time is up: cut off what is under way, and let that be noted.
		short, cancel := context.WithTimeout(context.WithoutCancel(ctx), recordTime)
		defer cancel()
		err = s.jobs.StopAndCancel(short)
	}
	s.cancel()
	<-ticks.Done()
	s.background.Wait()
	s.pool.Close()
	return errors.Join(err, s.sender.Close())
}
