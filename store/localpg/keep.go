package localpg

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// ErrKeepsEnding says that the server ended too often to be started once more.
var ErrKeepsEnding = errors.New("the private PostgreSQL ends again and again")

// Keep starts the server again in its place whenever it ends by itself: at once
// the first time, then after longer and longer. Its address stays. Keep returns nil
// when ctx ends or Stop is called, and ErrKeepsEnding after a series of ends. It
// may be called once, before Stop.
func (s *Server) Keep(ctx context.Context) error {
	s.keeping.Add(1)
	defer s.keeping.Done()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	defer context.AfterFunc(s.stopping, cancel)()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-s.Exited():
		}
		why := fmt.Errorf("process %d ended", s.pid)
		for why != nil && ctx.Err() == nil {
			wait, again := s.ends.next(time.Now())
			if !again {
				return fmt.Errorf("%w (%d times within %s; the last time: %w): see %s", ErrKeepsEnding, mostEnds+1, endsWithin, why, s.layout.log)
			}
			s.log.Error("the private PostgreSQL has ended and is started again", "in", wait, "why", why, "log", s.layout.log)
			select {
			case <-ctx.Done():
				return nil
			case <-time.After(wait):
			}
			why = s.run(ctx, s.bin, s.who, s.options)
		}
	}
}

// How often the server may end before that is told instead of mended. What does
// not pass within the minutes that the waits add up to, a full disk for one, wants
// a person.
const (
	mostEnds    = 10
	endsWithin  = 10 * time.Minute
	longestWait = 30 * time.Second
)

// series are the ends of a server that lie close together.
type series []time.Time

// next notes an end and says how long to wait before the next start; again is
// false where there were too many.
func (s *series) next(now time.Time) (wait time.Duration, again bool) {
	for len(*s) > 0 && now.Sub((*s)[0]) > endsWithin {
		*s = (*s)[1:]
	}
	before := len(*s)
	*s = append(*s, now)
	if before > 0 {
		wait = min(longestWait, time.Second<<(before-1))
	}
	return wait, before < mostEnds
}
