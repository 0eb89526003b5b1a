package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	netmail "net/mail"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
	"pryday/store/localpg"
	"pryday/web"
)

// today is the day on which everything happens: in build-up, when most is due.
var today = scheduler.NewDate(2027, 4, 26)

// bed is a private Postgres with the newest schema, and what works on it.
type bed struct {
	clubs []club // of the association
	kept  bool   // it was there before this run, planned for today

	postgres *localpg.Server
	owner    *pgx.Conn
	store    *store.Store
	notify   *notify.Service
	pages    *web.Server
	answer   bytes.Buffer // to what was asked last: a socket keeps none either
	undo     []func()
}

// makeBed keeps what it makes in a directory, unless that is "".
func makeBed(ctx context.Context, keep string) (_ *bed, err error) {
	b := &bed{}
	defer func() {
		if err != nil {
			b.close()
		}
	}()
	state := keep
	if keep == "" {
		if state, err = os.MkdirTemp("", "pryday-load-"); err == nil {
			err = os.Chmod(state, 0o711) // started by root, PostgreSQL runs as another account
		}
		if err != nil {
			return nil, err
		}
		b.later(func() { os.RemoveAll(state) })
	}
	if b.kept, err = localpg.HasData(state); err != nil {
		return nil, err
	}
	quiet := slog.New(slog.NewTextHandler(io.Discard, nil))
	if b.postgres, err = localpg.Start(ctx, localpg.Options{StateDir: state, Logger: quiet}); err != nil {
		return nil, err
	}
	b.later(func() {
		stopping, cancel := context.WithTimeout(context.Background(), time.Minute)
		defer cancel()
		b.postgres.Stop(stopping)
	})
	if err = migrations.Up(ctx, b.postgres.URL()); err != nil {
		return nil, err
	}
	if b.owner, err = pgx.Connect(ctx, b.postgres.URL()); err != nil {
		return nil, err
	}
	b.later(func() { b.owner.Close(context.Background()) })
	if b.store, err = store.Open(ctx, store.Config{URL: b.postgres.Addresses().Serving, Apart: true}); err != nil {
		return nil, err
	}
	b.later(b.store.Close)
	sender, err := notify.NewMaildir(filepath.Join(state, "mail"))
	if err != nil {
		return nil, err
	}
	public := &url.URL{Scheme: "http", Host: "association.example"}
	clock := notify.ShiftedClock{By: time.Until(today.At(9*60, time.UTC))}
	if b.notify, err = notify.New(ctx, notify.Config{
		Store: b.store, Sender: sender, Clock: clock, Logger: quiet, PublicURL: public, From: netmail.Address{Address: "reminders@association.example"},
	}); err != nil {
		return nil, err
	}
	b.pages, err = web.New(web.Config{Store: b.store, Clock: clock, Notify: b.notify, PublicURL: public, Logger: quiet, FeedPerMinute: 1e9})
	if err != nil {
		return nil, err
	}
	b.later(b.pages.Close)
	return b, nil
}

func (b *bed) later(undo func()) { b.undo = append(b.undo, undo) }

func (b *bed) close() {
	for i := len(b.undo) - 1; i >= 0; i-- {
		b.undo[i]()
	}
}

// get asks the pages for something, in this process, one thing at a time. What the
// answer says stands until the next.
func (b *bed) get(ctx context.Context, path string, headers ...string) *httptest.ResponseRecorder {
	return b.ask(ctx, http.MethodGet, path, headers...)
}

func (b *bed) ask(ctx context.Context, method, path string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequestWithContext(ctx, method, "http://association.example"+path, nil)
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	b.answer.Reset()
	w := httptest.NewRecorder()
	w.Body = &b.answer
	b.pages.ServeHTTP(w, r)
	return w
}

// signIn returns the cookies of a person who has signed in.
func (b *bed) signIn(ctx context.Context, person int64) (cookies string, err error) {
	token, err := b.store.NewSignIn(ctx, person, time.Hour)
	if err != nil {
		return "", err
	}
	w := b.ask(ctx, http.MethodPost, "/sign-in/"+token)
	if w.Code != http.StatusSeeOther {
		return "", fmt.Errorf("signing in: answer %d", w.Code)
	}
	for _, c := range w.Result().Cookies() {
		cookies += c.Name + "=" + c.Value + "; "
	}
	if cookies == "" {
		return "", errors.New("signing in: no cookie")
	}
	return cookies, nil
}

// replan plans a club for a day, whole.
func (b *bed) replan(ctx context.Context, club int64, apiaries int, day scheduler.Date) error {
	n, more, err := b.store.ReplanClub(ctx, club, day)
	if err == nil && (n != apiaries || more) {
		err = fmt.Errorf("club %d: planned %d of %d apiaries", club, n, apiaries)
	}
	return err
}
