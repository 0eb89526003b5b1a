package inbox

import (
	"net"
	"sync"
	"time"
)

// connections is a listener that bounds the whole time of each connection,
// since the library's deadlines begin anew with every command, and that can
// end all of them.
type connections struct {
	net.Listener
	mu  sync.Mutex
	all map[*connection]bool
}

// Accept waits for the next connection.
func (l *connections) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	bounded := &connection{Conn: c, among: l, end: time.Now().Add(connectionTime)}
	l.mu.Lock()
	l.all[bounded] = true
	l.mu.Unlock()
	return bounded, c.SetDeadline(bounded.end)
}

func (l *connections) closeAll() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for c := range l.all {
		c.Conn.Close()
	}
}

type connection struct {
	net.Conn
	among *connections
	end   time.Time
}

// Close ends the connection.
func (c *connection) Close() error {
	c.among.mu.Lock()
	delete(c.among.all, c)
	c.among.mu.Unlock()
	return c.Conn.Close()
}

func (c *connection) before(t time.Time) time.Time {
	if t.IsZero() || t.After(c.end) {
		return c.end
	}
	return t
}

// SetReadDeadline sets it, but never after the connection's end.
func (c *connection) SetReadDeadline(t time.Time) error { return c.Conn.SetReadDeadline(c.before(t)) }

// SetWriteDeadline sets it, but never after the connection's end.
func (c *connection) SetWriteDeadline(t time.Time) error { return c.Conn.SetWriteDeadline(c.before(t)) }

// SetDeadline sets both.
func (c *connection) SetDeadline(t time.Time) error { return c.Conn.SetDeadline(c.before(t)) }
