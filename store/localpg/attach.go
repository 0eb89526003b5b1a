package localpg

import (
	"context"
	"fmt"
)

// Attach returns the address of the private Postgres that a running daemon
// keeps in a state directory, for commands that work beside it. It starts and
// stops nothing. It fails with ErrNotRunning when no server answers there.
func Attach(ctx context.Context, stateDir string) (string, error) {
	o, err := Options{StateDir: stateDir}.withDefaults()
	if err != nil {
		return "", err
	}
	s := &Server{layout: newLayout(o.StateDir)}
	pf, err := s.layout.readPidFile()
	if err != nil {
		return "", err
	}
	if pf == nil {
		return "", fmt.Errorf("%w in %s", ErrNotRunning, o.StateDir)
	}
	if err := s.ask(ctx, pf.socket); err != nil {
		return "", fmt.Errorf("%w in %s: %w", ErrNotRunning, o.StateDir, err)
	}
	s.socket = pf.socket
	return s.URL(), nil
}
