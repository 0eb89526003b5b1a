package feed

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

// wire carries a database's connections until it is cut.
type wire struct {
	url      string
	listener net.Listener
	target   string
	mu       sync.Mutex
	isCut    bool
	open     map[net.Conn]bool
}

// newWire gives the address of a database by way of a wire that a test can cut.
func newWire(t testing.TB, database string) *wire {
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
	w := &wire{target: filepath.Join(query.Get("host"), socket), open: map[net.Conn]bool{}}
	query.Set("host", dir)
	u.RawQuery = query.Encode()
	w.url = u.String()
	if w.listener, err = net.Listen("unix", filepath.Join(dir, socket)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.listener.Close(); w.cut() })
	go w.carry()
	return w
}

func (w *wire) carry() {
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
				_, _ = io.Copy(pair[0], pair[1])
				near.Close()
				far.Close()
			}()
		}
	}
}

func (w *wire) keep(conns ...net.Conn) bool {
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

// cut ends every connection and lets none through until mend.
func (w *wire) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.isCut = true
	for c := range w.open {
		c.Close()
	}
	clear(w.open)
}

func (w *wire) mend() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.isCut = false
}
