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

// outOfTime is a connection whose time is always up, until it is read once more
// after a limit that came amid a look.
type outOfTime struct {
	net.Conn
	of    *limitedConn
	reads int
}

func (*outOfTime) SetDeadline(time.Time) error     { return nil }
func (*outOfTime) SetReadDeadline(time.Time) error { return nil }

func (o *outOfTime) Read(b []byte) (int, error) {
	o.reads++
	switch o.reads {
	case 1:
		return 0, os.ErrDeadlineExceeded
	case 2:
		o.of.limit(time.Now()) // the job's time is up as well
		return 0, os.ErrDeadlineExceeded
	}
	return copy(b, "2"), nil
}

// TestTwoLimitsAtOnce: of a machine that slept, the time of the attempt and the time
// of its job are up at one moment.
func TestTwoLimitsAtOnce(t *testing.T) {
	t.Parallel()
	o := &outOfTime{}
	o.of = &limitedConn{Conn: o, until: time.Now().Add(-time.Second)}
	if n, err := o.of.Read(make([]byte, 1)); n != 1 || err != nil {
		t.Errorf("%d bytes, %v: what was there is not read", n, err)
	}
}
