package storetest

import (
	"errors"
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"testing"
)

// Wire carries a database's connections until a test cuts it or lets it hang.
type Wire struct {
	URL      string
	listener net.Listener
	target   string
	mu       sync.Mutex
	isCut    bool
	hangs    chan struct{} // until closed; nil while all passes
	open     map[net.Conn]bool
}

// NewWire gives the address of a database by way of a wire that a test can cut.
func NewWire(t testing.TB, database string) *Wire {
	t.Helper()
	u, err := url.Parse(database)
	if err != nil {
		t.Fatal(err)
	}
	// Not t.TempDir: the path of a socket must be short.
	dir, err := os.MkdirTemp("", "wire")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	query := u.Query()
	socket := ".s.PGSQL." + query.Get("port")
	w := &Wire{target: filepath.Join(query.Get("host"), socket), open: map[net.Conn]bool{}}
	query.Set("host", dir)
	u.RawQuery = query.Encode()
	w.URL = u.String()
	if w.listener, err = net.Listen("unix", filepath.Join(dir, socket)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.listener.Close(); w.Cut() })
	go w.carry()
	return w
}

func (w *Wire) carry() {
	for {
		near, err := w.listener.Accept()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil {
			continue
		}
		far, err := net.Dial("unix", w.target)
		if err != nil || !w.keep(near, far) {
			near.Close()
			continue
		}
		for _, pair := range [][2]net.Conn{{near, far}, {far, near}} {
			go func() {
				_, _ = io.Copy(slow{pair[0], w}, pair[1])
				near.Close()
				far.Close()
			}()
		}
	}
}

func (w *Wire) keep(conns ...net.Conn) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, c := range conns {
		if w.isCut {
			c.Close()
		} else {
			w.open[c] = true
		}
	}
	return !w.isCut
}

// Cut ends every connection and lets none through until Mend.
func (w *Wire) Cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.isCut = true
	w.pass()
	for c := range w.open {
		c.Close()
	}
	clear(w.open)
}

// Hang keeps every connection, and takes new ones, but lets nothing through until
// Mend or Cut.
func (w *Wire) Hang() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.hangs == nil {
		w.hangs = make(chan struct{})
	}
}

// Mend lets everything through again.
func (w *Wire) Mend() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.isCut = false
	w.pass()
}

func (w *Wire) pass() {
	if w.hangs != nil {
		close(w.hangs)
		w.hangs = nil
	}
}

// slow is one end of a wire, which waits while that hangs.
type slow struct {
	net.Conn
	wire *Wire
}

func (s slow) Write(p []byte) (int, error) {
	s.wire.mu.Lock()
	hangs := s.wire.hangs
	s.wire.mu.Unlock()
	if hangs != nil {
		<-hangs
	}
	return s.Conn.Write(p)
}
