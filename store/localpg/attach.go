package localpg

import (
	"cmp"
	"context"
	"fmt"
	"time"
)

// Attach gives the addresses of the server that another process runs on a state
// directory (empty means DefaultStateDir), for commands beside a daemon. A server
// that is still starting is waited for, half a minute at most. The server is not
// the caller's to stop, and may end at any time. It fails with ErrNotRunning when no
// server answers there.
func Attach(ctx context.Context, stateDir string) (at Addresses, err error) {
	o, err := Options{StateDir: stateDir}.withDefaults()
	if err != nil {
		return at, err
	}
	l, err := existingLayout(o.StateDir)
	if err != nil {
		return at, err
	}
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	var failure error
	for began := time.Now(); ; {
		pf, err := l.readPidFile()
		if err != nil {
			return at, err
		}
		if pf != nil {
			s := &Server{layout: l, socket: pf.socket}
			if failure = s.ask(ctx, pf.socket); failure == nil {
				return s.Addresses(), s.letServe(ctx)
			}
		}
		select {
		case <-ctx.Done():
			return at, fmt.Errorf("%w in %s: %w", ErrNotRunning, l.root, cmp.Or(failure, ctx.Err()))
		case <-time.After(pause(time.Since(began))):
		}
	}
}
