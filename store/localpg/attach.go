package localpg

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Attach gives the address of the server that another process runs on a state
// directory (empty means DefaultStateDir), for commands beside a daemon. A server
// that is still starting is waited for, half a minute at most. The server is not
// the caller's to stop, and may end at any time.
func Attach(ctx context.Context, stateDir string) (string, error) {
	o, err := Options{StateDir: stateDir}.withDefaults()
	if err != nil {
		return "", err
	}
	l, err := existingLayout(o.StateDir)
	if err != nil {
		return "", err
	}
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	failure := errors.New("none is running")
	for began := time.Now(); ; {
		pf, err := l.readPidFile()
		if err != nil {
			return "", err
		}
		if pf != nil {
			s := &Server{layout: l, socket: pf.socket}
			if failure = s.ask(ctx, pf.socket); failure == nil {
				return s.URL(), nil
			}
		}
		select {
		case <-ctx.Done():
			return "", fmt.Errorf("reach the private PostgreSQL of %s: %w", l.root, failure)
		case <-time.After(pause(time.Since(began))):
		}
	}
}
