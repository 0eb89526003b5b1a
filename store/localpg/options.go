// Package localpg runs a private Postgres for one daemon: installed binaries,
// a data directory under the daemon's state directory, a unix socket that only
// the daemon's user can reach, and no TCP port.
//
// One daemon owns a state directory at a time. A server that outlives a killed
// daemon is taken over by the next one.
package localpg

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
)

const (
	// Database is the name of the database that Start provides.
	Database = "pryday"
	// OwnerRole owns the database: it migrates, backs up and seeds.
	OwnerRole = "pryday_owner"
	// AppRole is what serving logs in as. It owns nothing, and can become nobody
	// else.
	AppRole = "pryday_app"

	superuser = "postgres"
	port      = "5432" // names the socket file only; nothing listens on TCP
	// OldestMajor is the oldest major version of Postgres that is accepted.
	OldestMajor = 15
)

// Options say where the server keeps its state and which binaries it runs.
// The zero value is usable.
type Options struct {
	// StateDir holds the data, the socket, the log and the lock. Empty means
	// DefaultStateDir.
	StateDir string
	// BinDir is the directory of the Postgres binaries (postgres and initdb).
	// Empty means PRYDAY_POSTGRES_BIN, and if that is empty too, the usual places.
	BinDir string
	// Account is the unprivileged account that the server runs as when the daemon
	// is root. Empty means the owner of existing data, else postgres, else nobody.
	// It is ignored when the daemon is not root.
	Account string
	// Logger is told what was started, taken over and repaired. Nil is silent.
	Logger *slog.Logger
	// Disposable gives up durability for speed: a crash may lose everything.
	// For tests only.
	Disposable bool
}

func (o Options) withDefaults() (Options, error) {
	if o.StateDir == "" {
		dir, err := DefaultStateDir()
		if err != nil {
			return o, err
		}
		o.StateDir = dir
	}
	abs, err := filepath.Abs(o.StateDir)
	if err != nil {
		return o, fmt.Errorf("state directory %q: %w", o.StateDir, err)
	}
	o.StateDir = abs
	if o.BinDir == "" {
		o.BinDir = os.Getenv("PRYDAY_POSTGRES_BIN")
	}
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	return o, nil
}

// DefaultStateDir is /var/lib/pryday for root, and pryday under XDG_STATE_HOME
// or ~/.local/state for everybody else.
func DefaultStateDir() (string, error) {
	if os.Getuid() == 0 {
		return "/var/lib/pryday", nil
	}
	// The base directory specification says to ignore relative paths.
	if base := os.Getenv("XDG_STATE_HOME"); filepath.IsAbs(base) {
		return filepath.Join(base, "pryday"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("no state directory was given and there is no home directory: %w", err)
	}
	return filepath.Join(home, ".local", "state", "pryday"), nil
}
