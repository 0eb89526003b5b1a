package feed

import (
	"context"
	"errors"
	"fmt"
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
	// endedFor is how long an address that was replaced or withdrawn says so
	// before it is gone: most clients keep what they have when an address is
	// gone, and some ask only once in a day or two.
	endedFor = 30 * 24 * time.Hour
)

// errBehind is about a replica that lacks what others were shown.
var errBehind = errors.New("the replica is behind")

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
			if store.Away(err) {
				f.listener.outage.begin()
			}
			return nil, err
		}
		f.listener.raise(e.club, e.version)
		if e.version >= f.listener.version(e.club) && e.epoch == f.listener.epoch.Load() {
			f.remember(k, e)
		}
		return e, nil
	})
	if err != nil {
		return nil, err
	}
	return made.(*entry), nil
}

// renderSoon is renderOnce, which is not waited for where what there was before
// suffices and may be shown instead.
func (f *Feeds) renderSoon(k key, token string, before *entry, suffices bool) (*entry, error) {
	if !suffices {
		return f.renderOnce(k, token, before)
	}
	return soon(f.listener, func() (*entry, error) { return f.renderOnce(k, token, before) })
}

// render makes an entry from one moment of the records.
func (f *Feeds) render(ctx context.Context, token string, before *entry) (*entry, error) {
	if f.listener.outage.now() {
		return nil, store.ErrAway
	}
	whole := false
	for range 3 {
		e, err := f.renderNow(ctx, token, before, whole)
		if !errors.Is(err, errOvertaken) && !errors.Is(err, errWhole) {
			return e, err
		}
		whole = whole || errors.Is(err, errWhole)
	}
	return nil, errOvertaken
}

func (f *Feeds) renderNow(ctx context.Context, token string, before *entry, whole bool) (*entry, error) {
	e := &entry{epoch: f.listener.epoch.Load()}
	var err error
	if e.club, err = f.cfg.Store.ClubOfLink(ctx, token); err != nil {
		return nil, err
	}
	sheet := &draft{}
	var keeps bool
	var part *part
	reading := ctx
	var least int64
	if f.cfg.Store.HasReplica() {
		// The primary says how new a calendar is at this moment: nobody is shown less.
		if least, err = f.queryVersion(ctx, e.club); err == nil {
			reading = store.MayLag(ctx)
		}
	}
	err = f.cfg.Store.InSnapshot(reading, e.club, func(tx *store.Tx) error {
		link, err := tx.FeedLink(ctx, token, before.holdsUpTo())
		if err != nil {
			return err
		}
		if tx.Lags() && link.Version < least {
			return errBehind // and read from the primary
		}
		e.link, e.version = link.ID, link.Version
		e.zone = link.Zone
		e.day = f.today(e.zone)
		if at := link.EndedAt(); !at.IsZero() {
			if e.gone = f.cfg.Clock.Now().Sub(at) > endedFor; !e.gone {
				sheet.Feed, err = f.ended(ctx, tx, e, link)
			}
			return err
		}
		keeps = link.Kind == store.ClubLink
		if !whole {
			part = before.partOf(e, link)
		}
		sheet, err = f.assemble(ctx, tx, e, link, token, part)
		return err
	})
	if err == nil && sheet.visits != nil {
		sheet.Events, err = f.follow(ctx, e, sheet)
	}
	if err == nil && keeps {
		err = e.keep(sheet.Feed, sheet.visits, part)
	}
	if err != nil || e.gone {
		return e, err
	}
	body, err := calendar.Render(*sheet.Feed)
	if err != nil {
		return nil, fmt.Errorf("%w: link %d of club %d: %w", errUnwritable, e.link, e.club, err)
	}
	if part != nil {
		f.count.parts.Add(1)
	}
	e.seal(body, before, f.cfg.Clock.Now())
	return e, nil
}

// draft is a calendar before its entries are compared with what they said before.
type draft struct {
	*calendar.Feed
	visits []store.VisitRecord        // whose entries they are; nil where they are of none
	shown  map[int64]store.ShownEntry // of those, before
}

// assemble puts together what the calendar of a link says, of the apiaries of
// a part alone where one is given.
func (f *Feeds) assemble(ctx context.Context, tx *store.Tx, e *entry, link *store.FeedLink, token string, p *part) (*draft, error) {
	today := e.day
	window := store.FeedWindow{Today: today, From: today - calendar.PastDays, TentativeUntil: today + calendar.TentativeDays}
	if p != nil {
		window.Among = p.apiaries
	}
	visits, more, err := tx.FeedVisits(ctx, &link.Link, window)
	if err != nil {
		return nil, err
	}
	if p == nil {
		tx.Last()
	}
	club, shown, err := tx.FeedClub(ctx, link.ID, visits, today)
	if err == nil {
		err = p.check(ctx, tx, club, visits)
	}
	if err != nil {
		return nil, err
	}
	records := make([]calendar.VisitRecord, len(visits))
	for i, v := range visits {
		records[i] = calendar.VisitRecord{Visit: v.Visit, ChangedAt: v.ChangedAt, CancelledUntil: v.CancelledUntil, Opened: v.Opened}
	}
	o := calendar.Options{
		Today: today, OnlyConfirmed: link.ConfirmedOnly, FarTentative: link.Far, ExactPlace: link.ExactPlace,
		VisitURL: f.visitURL(&link.Link, club.Member(link.MemberID)),
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
	e.saveAs(fileOf(club, &link.Link))
	return &draft{&calendar.Feed{
		Name: nameOf(club, &link.Link), Refresh: refresh, Source: Address(f.cfg.PublicURL, token, club, &link.Link), Zone: link.Zone.String(),
		Events: calendar.EventsOf(club, records, o), Today: today, More: more,
	}, visits, shown}, nil
}

// ended is the last calendar of a link that was replaced or withdrawn: one
// entry that says so, on the day of it by the clock that dates visits.
func (f *Feeds) ended(ctx context.Context, tx *store.Tx, e *entry, link *store.FeedLink) (*calendar.Feed, error) {
	tx.Last()
	club, err := tx.Apiaries(ctx)
	if err != nil {
		return nil, err
	}
	e.saveAs(fileOf(club, &link.Link))
	say, at, page := calendar.Replaced, link.ReplacedAt, f.pageOf(notify.CalendarsPath, link.ClubID)
	switch {
	case link.RevokedAt.IsZero():
	case link.MemberID == 0:
		say, at, page = calendar.LeftBehind, link.RevokedAt, "" // nobody may look at any
	case link.Kind == store.ApiaryLink && link.ApiaryID == 0:
		say, at = calendar.ApiaryRemoved, link.RevokedAt
	default:
		say, at = calendar.Withdrawn, link.RevokedAt
	}
	shift := f.cfg.Clock.Civil().Sub(f.cfg.Clock.Now()).Round(time.Minute)
	last := say(calendar.Ended{
		Name: nameOf(club, &link.Link), Language: link.Language, UID: fmt.Sprintf("%d-%d", link.ClubID, link.ID),
		On: scheduler.DateOf(at.Add(shift).In(link.Zone)), At: at, Page: page,
	})
	last.Zone, last.Refresh = link.Zone.String(), refresh
	return &last, nil
}

// visitURL gives the entries of a link their addresses. Those in a member's own
// calendar open their visit as a mail's do; those that others may see ask to
// sign in.
func (f *Feeds) visitURL(link *store.Link, m *scheduler.Member) func(*calendar.VisitRecord) string {
	if link.Kind != store.MemberLink || f.cfg.Signer == nil {
		return func(v *calendar.VisitRecord) string { return f.pageOf(notify.VisitPath+v.UID, link.ClubID) }
	}
	ahead := f.cfg.Clock.Civil().Sub(f.cfg.Clock.Now()).Round(24 * time.Hour)
	return func(v *calendar.VisitRecord) string {
		action := notify.CalendarAction(link.ClubID, m, link.ID, &v.Visit, ahead)
		return f.cfg.PublicURL.JoinPath(notify.ActionPath, f.cfg.Signer.Sign(action)).String()
	}
}

// pageOf is the address of a page for who is signed in.
func (f *Feeds) pageOf(path string, club int64) string {
	u := f.cfg.PublicURL.JoinPath(path)
	u.RawQuery = "club=" + strconv.FormatInt(club, 10)
	return u.String()
}

// lastGood is an entry that could not be checked or made anew.
func (f *Feeds) lastGood(e *entry, err error) *entry {
	f.count.stale.Add(1)
	if !errors.Is(err, store.ErrAway) { // once in an outage's while
		f.cfg.Logger.Error("an old calendar stands in for one that cannot be made", "club", e.club, "link", e.link, "err", err)
	}
	return e
}
