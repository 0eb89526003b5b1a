package inbox

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"strings"
	"time"

	"github.com/emersion/go-smtp"
	"golang.org/x/net/netutil"
)

// Place is where mail is taken in, and in which protocol.
type Place struct {
	LMTP    bool   // RFC 2033, as mail servers hand mail over on one machine; else SMTP
	Network string // tcp or unix
	Address string // host:port, or the path of a socket
}

// ParsePlace reads a place: lmtp: or smtp: (lmtp where neither is said) and
// then a host with a port, or the absolute path of a socket.
func ParsePlace(s string) (Place, error) {
	p := Place{LMTP: true, Network: "tcp", Address: s}
	if protocol, rest, ok := strings.Cut(s, ":"); ok {
		switch strings.ToLower(protocol) {
		case "lmtp":
			p.Address = rest
		case "smtp":
			p.LMTP, p.Address = false, rest
		}
	}
	if strings.HasPrefix(p.Address, "/") {
		p.Network = "unix"
		if len(p.Address) > 100 { // the kernel's bound is 107
			return p, fmt.Errorf("the inbound address %q: the path of a socket has at most 100 characters", s)
		}
		return p, nil
	}
	if _, port, err := net.SplitHostPort(p.Address); err != nil || port == "" {
		return p, fmt.Errorf("the inbound address %q: want lmtp:127.0.0.1:2424, smtp:127.0.0.1:2525 or lmtp:/run/pryday/lmtp.sock", s)
	}
	return p, nil
}

// The bounds of a connection.
const (
	maxConnections = 20
	maxRecipients  = 10
	maxLineBytes   = 16 << 10
	commandTime    = 2 * time.Minute // for a command, or for the whole of a mail
	connectionTime = 10 * time.Minute
	storeTime      = 20 * time.Second
	lastMoment     = 2 * time.Second // mail servers keep connections open for the next mail
)

// Server takes mail in from another mail server.
type Server struct {
	smtp     *smtp.Server
	listener net.Listener
	open     *connections
}

// Listen begins to listen; Serve answers.
func Listen(p Place, desk *Desk, log *slog.Logger) (*Server, error) {
	if p.Network == "unix" {
		if err := removeDeadSocket(p.Address); err != nil {
			return nil, fmt.Errorf("take mail in at %s: %w", p.Address, err)
		}
	}
	l, err := net.Listen(p.Network, p.Address)
	if err != nil {
		return nil, fmt.Errorf("take mail in at %s: %w", p.Address, err)
	}
	if p.Network == "unix" {
		// The mail server is another user. Mail is taken for signed addresses
		// alone, whoever brings it.
		if err := os.Chmod(p.Address, 0o666); err != nil {
			l.Close()
			return nil, fmt.Errorf("take mail in at %s: %w", p.Address, err)
		}
	}
	open := &connections{Listener: l, all: map[*connection]bool{}}
	s := &Server{open: open, listener: netutil.LimitListener(open, maxConnections)}
	s.smtp = smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return &session{desk: desk, log: log}, nil }))
	s.smtp.LMTP = p.LMTP
	s.smtp.Domain = desk.Addresses.domain
	s.smtp.MaxMessageBytes, s.smtp.MaxRecipients, s.smtp.MaxLineLength = MaxBytes, maxRecipients, maxLineBytes
	s.smtp.ReadTimeout, s.smtp.WriteTimeout = commandTime, commandTime
	s.smtp.EnableSMTPUTF8 = true
	s.smtp.ErrorLog = slog.NewLogLogger(log.Handler(), slog.LevelWarn)
	return s, nil
}

// Addr is where the server listens.
func (s *Server) Addr() net.Addr { return s.listener.Addr() }

// Serve answers until Shutdown.
func (s *Server) Serve() error { return s.smtp.Serve(s.listener) }

// Shutdown takes no more connections and gives those that are there a moment;
// what is then cut off was not acknowledged, and comes again.
func (s *Server) Shutdown(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, lastMoment)
	defer cancel()
	err := s.smtp.Shutdown(ctx)
	s.open.closeAll()
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, smtp.ErrServerClosed) {
		err = nil
	}
	if closed := s.listener.Close(); !errors.Is(closed, net.ErrClosed) { // it may never have served
		err = errors.Join(err, closed)
	}
	return err
}

// removeDeadSocket takes away what a killed daemon left; one that is answered
// stays, and listening fails.
func removeDeadSocket(path string) error {
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if info.Mode().Type() != fs.ModeSocket {
		return errors.New("there is something else than a socket")
	}
	if c, err := net.DialTimeout("unix", path, time.Second); err == nil {
		c.Close()
		return errors.New("another process listens there")
	}
	return os.Remove(path)
}

// session is one connection's mail, as the library asks for it.
type session struct {
	desk   *Desk
	log    *slog.Logger
	sender string
	to     []string
}

func (s *session) Reset()        { s.sender, s.to = "", nil }
func (s *session) Logout() error { return nil }

func (s *session) Mail(from string, _ *smtp.MailOptions) error {
	s.sender = from
	return nil
}

// Rcpt takes signed addresses alone: whatever else is sent here is nobody's.
func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	t, ok := s.desk.Addresses.Read(to)
	if !ok {
		return answer(ErrUnknown)
	}
	ctx, cancel := context.WithTimeout(context.Background(), storeTime)
	defer cancel()
	err := s.desk.Known(ctx, t)
	if err == nil {
		s.to = append(s.to, to)
		return nil
	}
	return s.refuse(err)
}

// Data answers for all recipients at once, as SMTP does. Those who have the
// mail already take it again without effect.
func (s *session) Data(r io.Reader) error {
	raw, err := readWhole(r)
	if err != nil {
		return err
	}
	for _, to := range s.to {
		if err := s.take(to, raw); err != nil {
			return err
		}
	}
	return nil
}

// LMTPData answers for each recipient.
func (s *session) LMTPData(r io.Reader, status smtp.StatusCollector) error {
	raw, err := readWhole(r)
	if err != nil {
		return err
	}
	for _, to := range s.to {
		status.SetStatus(to, s.take(to, raw))
	}
	return nil
}

// readWhole reads a mail. A connection that broke or took too long asks to try
// again; the library's errors, of what is too large, say for good.
func readWhole(r io.Reader) ([]byte, error) {
	raw, err := io.ReadAll(r)
	if _, broken := errors.AsType[net.Error](err); broken || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, answer(err)
	}
	return raw, err
}

func (s *session) take(to string, raw []byte) error {
	ctx, cancel := context.WithTimeout(context.Background(), storeTime)
	defer cancel()
	if err := s.desk.Take(ctx, to, s.sender, raw); err != nil {
		return s.refuse(err)
	}
	return nil
}

// refuse puts an error in words for the other server; one of ours is logged
// and asks to try again.
func (s *session) refuse(err error) error {
	reply := answer(err)
	if reply.Code == 451 {
		s.log.Error("mail could not be taken in", "err", err)
	}
	return reply
}

func answer(err error) *smtp.SMTPError {
	switch {
	case errors.Is(err, ErrUnknown):
		return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "No such address here. Answers go to the address of a mail that came from here, for as long as it is on record"}
	case errors.Is(err, ErrTooMany):
		return &smtp.SMTPError{Code: 450, EnhancedCode: smtp.EnhancedCode{4, 2, 1}, Message: "Too many mails to this address today"}
	case errors.Is(err, ErrLoop):
		return &smtp.SMTPError{Code: 554, EnhancedCode: smtp.EnhancedCode{5, 4, 6}, Message: "This mail goes round in a loop"}
	}
	return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 3, 0}, Message: "It cannot be stored at the moment"}
}
