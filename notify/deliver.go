package notify

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/riverqueue/river"

	"pryday/notify/mail"
	"pryday/notify/smtp"
	"pryday/store"
)

const (
	// A job that was cut off is taken up again after rescueAfter, and rescues
	// happen every half minute: a killed daemon's messages go on within a
	// minute. An attempt must be over by then, its record included.
	jobTimeout  = 15 * time.Second
	rescueAfter = 20 * time.Second
	recordTime  = 4 * time.Second // for noting what came of an attempt, cut off or not
)

// deliverer is the job of delivering one message: read, render, hand over,
// note what came of it. It is repeated until one of the last states is noted.
type deliverer struct {
	river.WorkerDefaults[store.DeliverArgs]
	*Service
}

// NextRetry is for errors of our own, such as a database that does not answer,
// and for jobs that were cut off: soon. What a mail server says is answered
// with a snooze, which does not come here.
func (*deliverer) NextRetry(job *river.Job[store.DeliverArgs]) time.Time {
	return time.Now().Add(min(time.Duration(job.Attempt*job.Attempt)*time.Second, 10*time.Minute))
}

// Work tries once.
func (d *deliverer) Work(ctx context.Context, job *river.Job[store.DeliverArgs]) error {
	again, err := d.attempt(ctx, job.Args.Club, job.Args.Message)
	if err != nil {
		return err
	}
	if again > 0 {
		return river.JobSnooze(again)
	}
	return nil
}

// attempt returns how long to wait for the next one; zero when the message is
// through with.
func (s *Service) attempt(ctx context.Context, club, message int64) (again time.Duration, err error) {
	m := delivery{club, message}
	if !s.take(m) {
		// The engine takes a job for cut off by this machine's clock and a time that
		// the database gave it: where the two are apart, also one that is not.
		return recordTime, nil
	}
	defer s.letGo(m)
	if reply, ok := s.takenBefore(m); ok {
		return 0, s.delivered(ctx, m, reply)
	}
	d, err := s.writer.read(ctx, club, message)
	if errors.Is(err, store.ErrNotFound) {
		return 0, nil // the club was deleted
	}
	if err != nil {
		return 0, fmt.Errorf("read message %d of club %d: %w", message, club, err)
	}
	if d == nil {
		return 0, nil // somebody was faster
	}
	log := s.log.With("club", club, "message", message, "kind", d.record.Kind)
	letter, err := s.writer.letter(ctx, d)
	var nobody *uselessError
	switch {
	case errors.As(err, &nobody):
		log.Info("passed over", "why", nobody.Error())
		s.count.passedOver.Add(1)
		return 0, s.note(ctx, club, func(ctx context.Context, tx *store.Tx) error { return tx.PassOver(ctx, message, nobody.why) })
	case errors.Is(err, mail.ErrAddress):
		return 0, s.refuse(ctx, d, smtp.Outcome{Verdict: smtp.Never, Phase: smtp.Compose, BadAddress: true, Err: err, Reply: smtp.OneLine(err.Error())})
	case errors.Is(err, errUnsendable):
		return 0, s.refuse(ctx, d, smtp.Outcome{Verdict: smtp.Never, Phase: smtp.Compose, Err: err, Reply: smtp.OneLine(err.Error())})
	case err != nil:
		return 0, fmt.Errorf("write message %d of club %d: %w", message, club, err)
	}
	o := s.sender.Send(ctx, letter)
	switch o.Verdict {
	case smtp.Delivered:
		log.Info("delivered", "reply", o.Reply)
		s.count.delivered.Add(1)
		return 0, s.delivered(ctx, m, o.Reply)
	case smtp.Never:
		return 0, s.refuse(ctx, d, o)
	}
	if ctx.Err() != nil && o.Phase != smtp.FinalDot && s.stopping.Load() {
		// The daemon stops. Nothing was said to the server that counts.
		return time.Millisecond, nil
	}
	return s.later(ctx, d, o)
}

// delivery names a message.
type delivery struct{ club, message int64 }

// take notes that a message is in hand; false where it is already.
func (s *Service) take(m delivery) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.inHand[m] {
		return false
	}
	s.inHand[m] = true
	return true
}

func (s *Service) letGo(m delivery) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.inHand, m)
}

// delivered notes that a server took a message. Where the database is away it
// is kept in mind, and noted instead of sending the message once more.
func (s *Service) delivered(ctx context.Context, m delivery, reply string) error {
	err := s.note(ctx, m.club, func(ctx context.Context, tx *store.Tx) error { return tx.Delivered(ctx, m.message, reply) })
	if errors.Is(err, store.ErrNotFound) { // the club was deleted
		err = nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err == nil {
		delete(s.taken, m)
	} else {
		s.taken[m] = reply
	}
	return err
}

func (s *Service) takenBefore(m delivery) (reply string, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	reply, ok = s.taken[m]
	return reply, ok
}

// later notes a failed attempt and says when the next one is, or gives up.
func (s *Service) later(ctx context.Context, d *draft, o smtp.Outcome) (time.Duration, error) {
	message, club := d.record.ID, d.record.ClubID
	log := s.log.With("club", club, "message", message, "kind", d.record.Kind, "phase", o.Phase, "reply", o.Reply)
	words := fmt.Sprintf("%s (%s)", o.Reply, o.Phase)
	if o.Unsure {
		s.count.unsure.Add(1)
		words = fmt.Sprintf("%s (no answer after the final dot: it may have arrived; sent again with the same Message-ID)", o.Reply)
	}
	if o.Settings {
		log.Error("no mail gets through until the mail server or its settings are changed", "err", o.Err)
	}
	s.count.retried.Add(1)
	again := RetryDelay(d.record.Attempts+1, message)
	if s.clock.Now().Add(again).Sub(d.record.OwedAt) > GiveUpAfter {
		log.Warn("given up", "attempts", d.record.Attempts+1)
		s.count.givenUp.Add(1)
		return 0, s.note(ctx, club, func(ctx context.Context, tx *store.Tx) error {
			return errors.Join(tx.TryFailed(ctx, message, words), tx.GaveUp(ctx, message, words))
		})
	}
	log.Info("tried in vain", "attempts", d.record.Attempts+1, "again_in", again.Round(time.Second))
	err := s.note(ctx, club, func(ctx context.Context, tx *store.Tx) error { return tx.TryFailed(ctx, message, words) })
	return again, err
}

// refuse notes that a message will never be taken, and marks the address
// where that was the reason.
func (s *Service) refuse(ctx context.Context, d *draft, o smtp.Outcome) error {
	message, club := d.record.ID, d.record.ClubID
	s.log.Warn("refused", "club", club, "message", message, "kind", d.record.Kind, "phase", o.Phase, "reply", o.Reply, "address", o.BadAddress)
	s.count.refused.Add(1)
	if o.BadAddress {
		defer s.writer.records.forget(club)
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), recordTime)
		defer cancel()
		if err := s.store.MarkRefused(ctx, d.member.PersonID, d.record.Address, o.Reply); err != nil {
			return fmt.Errorf("mark the address of message %d of club %d: %w", message, club, err)
		}
	}
	return s.note(ctx, club, func(ctx context.Context, tx *store.Tx) error { return tx.Refused(ctx, message, o.Reply) })
}

// note writes what came of an attempt. It has time of its own: what was said
// to a server must be on record even when the job's time is up.
func (s *Service) note(ctx context.Context, club int64, write func(context.Context, *store.Tx) error) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), recordTime)
	defer cancel()
	return s.store.InClub(ctx, club, func(tx *store.Tx) error { return write(ctx, tx) })
}
