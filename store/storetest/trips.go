package storetest

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// Trips notes the round trips to Postgres of whoever connects to Counted's
// address: each time that somebody sent statements and had to wait.
type Trips struct {
	mu   sync.Mutex
	made []string
	read Read
	left int // until the line breaks; 0 for never
}

// errBroken ends a connection.
var errBroken = errors.New("the line breaks here")

// Break cuts the connection instead of making the nth round trip from now on,
// once.
func (t *Trips) Break(n int) {
	t.mu.Lock()
	t.left = n
	t.mu.Unlock()
}

// Read is what Postgres answered.
type Read struct{ Rows, Bytes int }

// TakeRead returns what was read since it was last called.
func (t *Trips) TakeRead() Read {
	t.mu.Lock()
	defer t.mu.Unlock()
	read := t.read
	t.read = Read{}
	return read
}

// Take returns the round trips since it was last called, each as the
// statements that went together, on one line. Preparing a statement is left
// out: that is done once a connection.
func (t *Trips) Take() []string {
	t.mu.Lock()
	defer t.mu.Unlock()
	made := t.made
	t.made = nil
	return made
}

// Broke reports whether the connection was cut, and cuts no other one.
func (t *Trips) Broke() bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	broke := t.left == 0
	t.left = 0
	return broke
}

func (t *Trips) add(statements []string) error {
	for i, s := range statements {
		statements[i] = strings.Join(strings.Fields(s), " ")
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.left > 0 {
		t.left--
		if t.left == 0 {
			return errBroken
		}
	}
	t.made = append(t.made, strings.Join(statements, "; "))
	return nil
}

// Counted is New, with the round trips to it counted on the wire.
func Counted(t testing.TB) (address string, trips *Trips) {
	t.Helper()
	return Count(t, New(t))
}

// Count gives another address of a database, on which round trips are counted.
func Count(t testing.TB, of string) (address string, trips *Trips) {
	t.Helper()
	u, err := url.Parse(of)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	server := filepath.Join(q.Get("host"), ".s.PGSQL."+q.Get("port"))
	dir, err := os.MkdirTemp("", "trips-") // not t.TempDir: addresses of sockets are short
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	l, err := net.Listen("unix", filepath.Join(dir, ".s.PGSQL."+q.Get("port")))
	if err != nil {
		t.Fatal(err)
	}
	trips = &Trips{}
	var relays sync.WaitGroup
	t.Cleanup(func() { l.Close(); relays.Wait() })
	relays.Go(func() {
		for {
			client, err := l.Accept()
			if err != nil {
				return
			}
			relays.Go(func() { relay(client, server, trips) })
		}
	})
	q.Set("host", dir)
	u.RawQuery = q.Encode()
	return u.String(), trips
}

// relay passes on what both sides say until one of them hangs up.
func relay(client net.Conn, server string, trips *Trips) {
	defer client.Close()
	pg, err := net.Dial("unix", server)
	if err != nil {
		return
	}
	defer pg.Close()
	answered := make(chan struct{})
	go func() {
		defer close(answered)
		io.Copy(client, io.TeeReader(pg, &answers{trips: trips}))
		client.Close()
	}()
	heard := &listener{trips: trips, prepared: map[string]string{}}
	io.Copy(pg, io.TeeReader(client, heard))
	pg.(*net.UnixConn).CloseWrite()
	pg.Close()
	<-answered
}

// listener reads what a client says in PostgreSQL's protocol, version 3
// (PostgreSQL manual, "Message Formats"): after an opening message without a
// type, each has one byte of type and four of length.
type listener struct {
	trips    *Trips
	prepared map[string]string // statements by name
	heard    []byte            // not yet a whole message
	begun    bool
	together []string // since the last round trip
}

// Write takes some more of it.
func (l *listener) Write(b []byte) (int, error) {
	l.heard = append(l.heard, b...)
	for {
		head := 1
		if !l.begun {
			head = 0
		}
		if len(l.heard) < head+4 {
			return len(b), nil
		}
		size := head + int(binary.BigEndian.Uint32(l.heard[head:]))
		if size < head+4 {
			return 0, errors.New("this is not PostgreSQL's protocol")
		}
		if len(l.heard) < size {
			return len(b), nil
		}
		if l.begun {
			if err := l.message(l.heard[0], l.heard[head+4:size]); err != nil {
				return 0, err
			}
		}
		l.begun = true
		l.heard = l.heard[size:]
	}
}

func (l *listener) message(kind byte, body []byte) (err error) {
	word := func() string {
		before, after, _ := bytes.Cut(body, []byte{0})
		body = after
		return string(before)
	}
	switch kind {
	case 'Q': // a simple query
		err = l.trips.add([]string{word()})
	case 'P': // parse
		name := word()
		l.prepared[name] = word()
	case 'B': // bind
		word() // the portal
		l.together = append(l.together, l.prepared[word()])
	case 'S': // sync: now it waits
		if len(l.together) > 0 {
			err = l.trips.add(l.together)
		}
		l.together = nil
	}
	return err
}

// answers reads what Postgres says, of which every message has a type.
type answers struct {
	trips *Trips
	head  []byte // not yet a whole head of a message
	skip  int    // of a message begun
}

// Write takes some more of it.
func (a *answers) Write(b []byte) (int, error) {
	rows := 0
	for rest := b; len(rest) > 0; {
		if n := min(a.skip, len(rest)); n > 0 {
			a.skip, rest = a.skip-n, rest[n:]
			continue
		}
		n := min(5-len(a.head), len(rest))
		a.head, rest = append(a.head, rest[:n]...), rest[n:]
		if len(a.head) < 5 {
			break
		}
		if a.head[0] == 'D' {
			rows++
		}
		a.skip = int(binary.BigEndian.Uint32(a.head[1:])) - 4
		a.head = a.head[:0]
	}
	a.trips.mu.Lock()
	a.trips.read.Rows += rows
	a.trips.read.Bytes += len(b)
	a.trips.mu.Unlock()
	return len(b), nil
}
