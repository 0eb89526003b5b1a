package notify

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"pryday/notify/smtp"
)

// Maildir delivers into a folder that any mail reader opens: a message is
// written in tmp, synced, and moved to new, so a reader never sees half of
// one and a crash leaves none behind in new.
type Maildir struct {
	dir  string
	host string
	sent atomic.Uint64
}

// NewMaildir opens the Maildir at dir and makes what is missing of it. The
// folders are readable by their owner alone.
func NewMaildir(dir string) (*Maildir, error) {
	for _, d := range []string{dir, filepath.Join(dir, "tmp"), filepath.Join(dir, "new"), filepath.Join(dir, "cur")} {
		if err := os.MkdirAll(d, 0o700); err != nil {
			return nil, fmt.Errorf("maildir: %w", err)
		}
	}
	host, err := os.Hostname()
	if err != nil {
		host = "localhost"
	}
	host = strings.NewReplacer("/", `\057`, ":", `\072`).Replace(host)
	return &Maildir{dir: dir, host: host}, nil
}

// Send writes one letter. A full or unwritable disk is worth a retry.
func (d *Maildir) Send(ctx context.Context, l *smtp.Letter) smtp.Outcome {
	later := func(err error) smtp.Outcome {
		return smtp.Outcome{Verdict: smtp.Later, Phase: smtp.Data, Err: err, Reply: smtp.OneLine(err.Error())}
	}
	if err := ctx.Err(); err != nil {
		return later(err)
	}
	// RFC 5321, 4.4: final delivery puts the sender's address before the rest.
	name, err := d.write(slices.Concat([]byte("Return-Path: <"+l.From+">\r\n"), l.Text))
	if err != nil {
		return later(fmt.Errorf("maildir: %w", err))
	}
	return smtp.Outcome{Verdict: smtp.Delivered, Phase: smtp.After, Reply: "written as " + name}
}

func (d *Maildir) write(text []byte) (name string, err error) {
	name = d.uniqueName(time.Now())
	tmp := filepath.Join(d.dir, "tmp", name)
	f, err := os.OpenFile(tmp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, removeIfThere(tmp))
		}
	}()
	if err = errors.Join(writeLines(f, text), f.Sync(), f.Close()); err != nil {
		return "", err
	}
	if err = os.Rename(tmp, filepath.Join(d.dir, "new", name)); err != nil {
		return "", err
	}
	return name, syncDir(filepath.Join(d.dir, "new"))
}

// uniqueName follows the usual shape of a Maildir name: seconds, something
// unique on this machine, the machine.
func (d *Maildir) uniqueName(now time.Time) string {
	var r [6]byte
	rand.Read(r[:])
	return fmt.Sprintf("%d.M%06dP%dQ%dR%s.%s", now.Unix(), now.Nanosecond()/1000, os.Getpid(), d.sent.Add(1), hex.EncodeToString(r[:]), d.host)
}

// writeLines writes a message with the line ends of files on this kind of
// machine, as a Maildir holds them; a reader puts the CRLF back.
func writeLines(w io.Writer, text []byte) error {
	b := bufio.NewWriter(w)
	for line := range bytes.Lines(text) {
		if end, ok := bytes.CutSuffix(line, []byte("\r\n")); ok {
			b.Write(end)
			b.WriteByte('\n')
			continue
		}
		b.Write(line)
	}
	return b.Flush()
}

func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func removeIfThere(path string) error {
	if err := os.Remove(path); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Close does nothing; there is nothing kept open.
func (d *Maildir) Close() error { return nil }
