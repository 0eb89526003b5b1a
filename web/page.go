package web

import (
	"bytes"
	"cmp"
	"embed"
	"fmt"
	"net/http"
	"strings"
	"sync"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

//go:embed assets/*
var assetFiles embed.FS

// view is what the layout shows, and the page inside it.
type view struct {
	Title   string
	Club    string
	Member  string // empty for a stranger
	Who     int64  // member id, for records that wait on the phone
	Today   string // of the club, yyyy-mm-dd
	Clubs   []store.Membership
	ClubID  int64
	Leads   bool // an organiser
	Here    string
	DemoDay string
	Assets  assets
	Notice  *notice
	DiskMB  int       // left on a disk that is nearly full, for organisers; -1 else
	Backup  text.Text // what is wrong with the daily backups, for organisers; zero else
	Page    any

	say   *text.Speaker  // to whoever reads; nil speaks as the browser asks
	today scheduler.Date // of the club; zero for none's
}

// pageBuffers are what pages are made in before the first byte is sent, kept for the
// next ones.
var pageBuffers = sync.Pool{New: func() any { return new(bytes.Buffer) }}

const mostKept = 256 << 10 // bytes of one: pages have at most 100 kB, and few more

// show renders a page whole before the first byte goes out.
func (s *Server) show(w http.ResponseWriter, r *http.Request, status int, name string, v view) error {
	v.Assets = s.assets
	v.DiskMB = -1
	if free, low := s.diskLeft(); low && v.Leads {
		v.DiskMB = int(free >> 20)
	}
	if v.Leads {
		v.Backup = s.backupWarning()
	}
	if v.say == nil {
		v.say = stranger(r)
	}
	if s.cfg.Demo {
		v.DemoDay = v.say.Day(cmp.Or(v.today, new(scheduler.Club).Today(s.now())))
	}
	t, err := s.pages.in(name, v.say)
	if err != nil {
		return err
	}
	out := pageBuffers.Get().(*bytes.Buffer)
	defer func() {
		if out.Cap() <= mostKept {
			pageBuffers.Put(out)
		}
	}()
	out.Reset()
	if err := t.Execute(out, v); err != nil {
		return fmt.Errorf("render page %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "private, no-store")
	w.WriteHeader(status)
	_, err = out.WriteTo(w)
	return err
}

// showTo renders a page for a member, with the navigation around it.
func (s *Server) showTo(w http.ResponseWriter, r *http.Request, who *visitor, club *scheduler.Club, status int, name, title string, page any) error {
	v := view{
		say: speaker(club, who.MemberID), Title: title, Club: club.Name, ClubID: club.ID, Page: page,
		Leads: who.Role == scheduler.Organiser, Here: section(r.URL.Path), today: club.Today(s.now()),
	}
	if who.person != nil {
		v.Who, v.Today = who.MemberID, v.today.String()
		if m := club.Member(who.MemberID); m != nil {
			v.Member = m.Name
		}
		v.Clubs = who.clubs
		v.Notice = s.notice(r)
		s.remember(w, r, v.say)
	}
	return s.show(w, r, status, name, v)
}

// section is the part of the navigation that a path belongs to.
func section(path string) string {
	first, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	switch first {
	case "hive", "apiary", "season", "opening", "box", "map":
		return "apiaries"
	case "month", "year", "day":
		return "calendar"
	case "visit":
		return ""
	}
	return first
}
