package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"pryday/notify/calendar"
	"pryday/scheduler"
	"pryday/store"
)

// feed serves a calendar address to whatever client subscribed to it.
func (s *Server) feed(w http.ResponseWriter, r *http.Request) {
	token, isCalendar := strings.CutSuffix(r.PathValue("file"), ".ics")
	if !isCalendar {
		http.NotFound(w, r)
		return
	}
	link, err := s.cfg.Store.LinkByToken(r.Context(), token)
	switch {
	case errors.Is(err, store.ErrNotFound):
		http.Error(w, "no calendar has this address", http.StatusNotFound)
		return
	case errors.Is(err, store.ErrGone):
		http.Error(w, "this calendar address has been withdrawn", http.StatusGone)
		return
	case err != nil:
		s.feedFailed(w, err)
		return
	}
	body, changed, err := s.renderFeed(r.Context(), link, r.URL.Path)
	if err != nil {
		s.feedFailed(w, err)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/calendar; charset=utf-8")
	h.Set("Content-Disposition", `inline; filename="pryday.ics"`)
	h.Set("Cache-Control", "private, no-cache")
	h.Set("X-Robots-Tag", "noindex")
	h.Set("ETag", `"`+fingerprint(body)+`"`)
	http.ServeContent(w, r, "", changed, strings.NewReader(string(body)))
}

func (s *Server) feedFailed(w http.ResponseWriter, err error) {
	s.cfg.Logger.Error("calendar failed", "err", err)
	w.Header().Set("Retry-After", "60")
	http.Error(w, "the calendar cannot be made at present", http.StatusServiceUnavailable)
}

// renderFeed makes the calendar of a link and tells when it last changed.
func (s *Server) renderFeed(ctx context.Context, link *store.Link, path string) ([]byte, time.Time, error) {
	var club *scheduler.Club
	var visits []store.VisitRecord
	today := s.today("UTC")
	err := s.cfg.Store.InSnapshot(ctx, link.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Outline(ctx); err != nil {
			return err
		}
		filter := store.VisitFilter{From: today - calendar.PastDays, ApiaryID: link.ApiaryID}
		if link.Kind == store.MemberLink {
			filter.MemberID = link.MemberID
		}
		visits, err = tx.Visits(ctx, filter)
		return err
	})
	if err != nil {
		return nil, time.Time{}, err
	}
	changed := link.ChangedAt
	shown := make([]calendar.VisitRecord, len(visits))
	for i, v := range visits {
		shown[i] = calendar.VisitRecord{Visit: v.Visit, ChangedAt: v.ChangedAt}
		if v.ChangedAt.After(changed) {
			changed = v.ChangedAt
		}
	}
	options := calendar.Options{
		Today: today, OnlyConfirmed: link.ConfirmedOnly, FarTentative: link.Far, ExactPlace: link.ExactPlace,
		VisitURL: func(uid string) string { return s.cfg.PublicURL.JoinPath("visit", uid).String() },
	}
	name := club.Name
	for i := range club.Members {
		m := &club.Members[i]
		if m.ID != link.MemberID {
			continue
		}
		options.Language, options.Zone = m.Language, m.Timezone
		if link.Timed {
			options.Hours = m.Prefs.VisitHours
		}
		if link.Kind == store.MemberLink {
			name = m.Name + ", " + club.Name
		}
	}
	if link.Alarms {
		options.Alarm = 24 * time.Hour
	}
	if link.Kind == store.ApiaryLink {
		name = scheduler.NewNames(club).Apiary(link.ApiaryID) + ", " + club.Name
	}
	body, err := calendar.Render(calendar.Feed{
		Name: name, Refresh: 4 * time.Hour, Source: s.cfg.PublicURL.JoinPath(path).String(),
		Events: calendar.EventsOf(club, shown, options),
	})
	return body, changed, err
}

// CalendarAddress is the address of the calendar that a token opens.
func (s *Server) CalendarAddress(token string) string {
	return s.cfg.PublicURL.JoinPath("calendar", token+".ics").String()
}
