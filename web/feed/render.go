package feed

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"time"

	"pryday/notify"
	"pryday/notify/calendar"
	"pryday/scheduler"
	"pryday/store"
)

const (
	renderTime = 10 * time.Second // for the database to give what one calendar needs
	refresh    = 4 * time.Hour    // how often clients are told to ask
	// evening is before midnight: alarms ring at 18:00 on the day before.
	evening = 6 * time.Hour
	// replacedFor is how long a replaced address says so before it is gone:
	// some clients ask only once in a day or two.
	replacedFor = 30 * 24 * time.Hour
)

// renderOnce renders the calendar of a link, once for all who ask meanwhile,
// and keeps it unless the club is known to have moved on.
func (f *Feeds) renderOnce(k key, token string, before *entry) (*entry, error) {
	made, err, _ := f.flight.Do(string(k[:]), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.Background(), renderTime)
		defer cancel()
		began := time.Now()
		e, err := f.render(ctx, token, before)
		f.count.rendered(time.Since(began), err)
		if err != nil {
			if away(err) {
				f.listener.outage.begin()
			}
			return nil, err
		}
		f.listener.raise(e.club, e.version)
		if e.version >= f.listener.version(e.club) && e.epoch == f.listener.epoch.Load() {
			f.cache.Set(k, e)
		}
		return e, nil
	})
	if err != nil {
		return nil, err
	}
	return made.(*entry), nil
}

// render makes an entry from one moment of the records.
func (f *Feeds) render(ctx context.Context, token string, before *entry) (*entry, error) {
	if f.listener.outage.now() {
		return nil, errAway
	}
	e := &entry{epoch: f.listener.epoch.Load()}
	var err error
	if e.club, err = f.cfg.Store.ClubOfLink(ctx, token); err != nil {
		return nil, err
	}
	var sheet *calendar.Feed
	err = f.cfg.Store.InSnapshot(ctx, e.club, func(tx *store.Tx) error {
		link, err := tx.FeedLink(ctx, token)
		if err != nil {
			return err
		}
		e.link, e.version = link.ID, link.Version
		e.zone = link.Zone
		e.day = f.today(e.zone)
		switch {
		case !link.RevokedAt.IsZero(), !link.ReplacedAt.IsZero() && f.cfg.Clock.Now().Sub(link.ReplacedAt) > replacedFor:
			e.gone = true
			return nil
		case !link.ReplacedAt.IsZero():
			sheet, err = f.replaced(ctx, tx, link)
			return err
		}
		sheet, err = f.assemble(ctx, tx, link, e.day, token)
		return err
	})
	if err != nil || e.gone {
		return e, err
	}
	body, err := calendar.Render(*sheet)
	if err != nil {
		return nil, fmt.Errorf("%w: link %d of club %d: %w", errUnwritable, e.link, e.club, err)
	}
	e.seal(body, before, f.cfg.Clock.Now())
	return e, nil
}

// assemble puts together what the calendar of a link says.
func (f *Feeds) assemble(ctx context.Context, tx *store.Tx, link *store.FeedLink, today scheduler.Date, token string) (*calendar.Feed, error) {
	visits, more, err := tx.FeedVisits(ctx, &link.Link, store.FeedWindow{
		Today: today, From: today - calendar.PastDays, TentativeUntil: today + calendar.TentativeDays,
	})
	if err != nil {
		return nil, err
	}
	club, err := tx.FeedClub(ctx, visits, today)
	if err != nil {
		return nil, err
	}
	shown := make([]calendar.VisitRecord, len(visits))
	for i, v := range visits {
		shown[i] = calendar.VisitRecord{Visit: v.Visit, ChangedAt: v.ChangedAt, CancelledUntil: v.CancelledUntil}
	}
	o := calendar.Options{
		Today: today, OnlyConfirmed: link.ConfirmedOnly, FarTentative: link.Far, ExactPlace: link.ExactPlace,
		VisitURL: func(uid string) string { return f.pageOf(notify.VisitPath+uid, club.ID) },
	}
	member := club.Member(link.MemberID)
	o.Language, o.Units, o.Zone = member.Language, member.Units, member.Timezone
	if link.Timed {
		o.Hours = member.Prefs.VisitHours
	}
	if link.Alarms {
		o.Alarm = evening
		if o.Hours != nil {
			o.Alarm += time.Duration(o.Hours.From) * time.Minute
		}
	}
	return &calendar.Feed{
		Name: nameOf(club, &link.Link, member), Refresh: refresh, Source: Address(f.cfg.PublicURL, token), Zone: link.Zone.String(),
		Events: calendar.EventsOf(club, shown, o), Today: today, More: more,
	}, nil
}

// nameOf is what calendar programs list a link under.
func nameOf(club *scheduler.Club, link *store.Link, member *scheduler.Member) string {
	switch link.Kind {
	case store.MemberLink:
		return member.Name + ", " + club.Name
	case store.ApiaryLink:
		if a := club.Apiary(link.ApiaryID); a != nil {
			return a.Name + ", " + club.Name
		}
	}
	return club.Name
}

// replaced is the last calendar of a link that was replaced.
func (f *Feeds) replaced(ctx context.Context, tx *store.Tx, link *store.FeedLink) (*calendar.Feed, error) {
	club, err := tx.FeedClub(ctx, nil, 0)
	if err != nil {
		return nil, err
	}
	member := club.Member(link.MemberID)
	// The civil day on which it was replaced, by the clock that dates visits.
	at := link.ReplacedAt.Add(f.cfg.Clock.Civil().Sub(f.cfg.Clock.Now()).Round(time.Hour))
	last := calendar.Replaced(nameOf(club, &link.Link, member), member.Language, fmt.Sprintf("replaced-%d-%d", link.ClubID, link.ID),
		scheduler.DateOf(at.In(link.Zone)), link.ReplacedAt, f.pageOf("/calendars", link.ClubID))
	last.Zone = link.Zone.String()
	return &last, nil
}

// pageOf is the address of a page for who is signed in.
func (f *Feeds) pageOf(path string, club int64) string {
	u := f.cfg.PublicURL.JoinPath(path)
	u.RawQuery = "club=" + strconv.FormatInt(club, 10)
	return u.String()
}

// Address is the address of the calendar that a token opens, on a service
// that people reach at public.
func Address(public *url.URL, token string) string {
	return public.JoinPath("calendar", token+".ics").String()
}

// lastGood is an entry that could not be checked or made anew.
func (f *Feeds) lastGood(e *entry, err error) *entry {
	f.count.stale.Add(1)
	if !errors.Is(err, errAway) { // once in an outage's while
		f.cfg.Logger.Error("an old calendar stands in for one that cannot be made", "club", e.club, "link", e.link, "err", err)
	}
	return e
}
