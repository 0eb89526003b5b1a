package smtp

import (
	"errors"
	"net"
	"os"
	"testing"
	"time"
)

// TestAnswerThatIsThereIsReadAfterTheTime: a machine that slept through the time of
// an attempt finds the answer in its buffer.
func TestAnswerThatIsThereIsReadAfterTheTime(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	client, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close()
	server, err := l.Accept()
	if err != nil {
		t.Fatal(err)
	}
	defer server.Close()
	if _, err := server.Write([]byte("250")); err != nil {
		t.Fatal(err)
	}
	c, one := &limitedConn{Conn: client}, make([]byte, 1)
	c.limit(time.Now().Add(time.Minute))
	if _, err := c.Read(one); err != nil { // all of it is there now
		t.Fatal(err)
	}
	c.limit(time.Now().Add(-time.Second))
	if _, err := c.Read(one); err != nil || one[0] != '5' {
		t.Errorf("%q, %v: what was there is not read", one, err)
	}
	client.SetReadDeadline(time.Now().Add(-time.Second)) // as after the last look
	if n, err := c.Read(one); n != 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("%d bytes, %v: want none, there is one last look", n, err)
	}
}
