package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// A calendar's day turns where its reader lives, as far as that is known.
func TestFeedLinkZone(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	inClub(t, s, club, func(tx *Tx) error { // no two zones alike
		a := c.Apiaries[0]
		a.Timezone = "Europe/Lisbon"
		_, err := tx.UpdateApiary(ctx, a, today)
		return err
	})
	nobody := int64(0)
	inClub(t, s, club, func(tx *Tx) (err error) {
		nobody, err = tx.AddMember(ctx, scheduler.Member{Name: "Pell Ivory", Email: "pell@example.org", Role: scheduler.Keeper})
		return err
	})
	cases := []struct {
		name   string
		member int64
		kind   LinkKind
		apiary int64
		want   string
	}{
		{"the member's own", c.Members[1].ID, ClubLink, 0, "Europe/Vienna"},
		{"the apiary's of the link", nobody, ApiaryLink, c.Apiaries[1].ID, "Europe/Vienna"},
		{"of the first apiary that they keep", c.Members[0].ID, MemberLink, 0, "Europe/Vienna"}, // Ansel keeps the second
		{"of the club's first apiary", nobody, ClubLink, 0, "Europe/Lisbon"},
	}
	for _, k := range cases {
		t.Run(k.name, func(t *testing.T) {
			var token string
			var link *FeedLink
			inClub(t, s, club, func(tx *Tx) (err error) {
				if _, token, err = tx.CreateLink(ctx, k.kind, k.member, k.apiary, LinkOptions{}); err != nil {
					return err
				}
				link, err = tx.FeedLink(ctx, token, 0)
				return err
			})
			if link.Zone.String() != k.want || link.Version == 0 || link.MemberID != k.member {
				t.Errorf("got %+v, want the zone %s", link, k.want)
			}
			if found, err := s.ClubOfLink(ctx, token); err != nil || found != club {
				t.Errorf("its club is %d, %v", found, err)
			}
		})
	}
	t.Run("an empty club", func(t *testing.T) {
		empty, err := s.CreateClub(ctx, "Nobody's Bees")
		if err != nil {
			t.Fatal(err)
		}
		inClub(t, s, empty, func(tx *Tx) error {
			m, err := tx.AddMember(ctx, scheduler.Member{Name: "Pell Ivory", Email: "pell@example.org", Role: scheduler.Organiser})
			if err != nil {
				return err
			}
			_, token, err := tx.CreateLink(ctx, ClubLink, m, 0, LinkOptions{})
			if err != nil {
				return err
			}
			link, err := tx.FeedLink(ctx, token, 0)
			if err == nil && link.Zone.String() != "UTC" {
				t.Errorf("zone %s", link.Zone)
			}
			visits, more, err := tx.FeedVisits(ctx, &link.Link, FeedWindow{Today: today, From: today - 60, TentativeUntil: today + 56})
			if err != nil || len(visits) > 0 || more {
				t.Errorf("visits %v, more %t, %v", visits, more, err)
			}
			_, _, err = tx.FeedClub(ctx, link.ID, visits, today)
			return err
		})
	})
	if _, err := s.ClubOfLink(ctx, "never given out"); !errors.Is(err, ErrNotFound) {
		t.Errorf("a token never given out: %v", err)
	}
}

// TestACancellationShowsThroughItsLastDay, and is gone the day after.
func TestACancellationShowsThroughItsLastDay(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	v := readClub(t, s, club).Visits[0]
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.tx.Exec(ctx, `UPDATE visit SET status = 'cancelled', cancelled_until = $2 WHERE id = $1`, v.ID, today+3); err != nil {
			return err
		}
		for day, shows := range map[scheduler.Date]bool{today + 3: true, today + 4: false} {
			visits, _, err := tx.FeedVisits(ctx, &Link{Kind: ClubLink}, FeedWindow{Today: day, From: day - 60, TentativeUntil: day + 56})
			if err != nil {
				return err
			}
			if got := slices.ContainsFunc(visits, func(r VisitRecord) bool { return r.ID == v.ID }); got != shows {
				t.Errorf("on day %d it shows: %t", day-today, got)
			}
		}
		return nil
	})
}

func TestFeedVisitsWindow(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, err := s.CreateClub(ctx, "Old Mill Beekeepers")
	if err != nil {
		t.Fatal(err)
	}
	sample := sampleClub()
	add := func(name string, on scheduler.Date, status scheduler.VisitStatus, who ...int64) {
		sample.Visits = append(sample.Visits, scheduler.Visit{
			ID: int64(len(sample.Visits) + 1), UID: name, ApiaryID: int64(len(sample.Visits)%2 + 1), On: on, Status: status, Who: who,
		})
	}
	add("confirmed-1", today+2, scheduler.Confirmed, 1)
	add("tentative-2", today+56, scheduler.Tentative)
	add("far-1", today+57, scheduler.Tentative, 1)
	add("far-confirmed-2", today+300, scheduler.Confirmed)
	add("done-1", today-60, scheduler.Done)
	add("old-2", today-61, scheduler.Done)
	add("missed-1", today-1, scheduler.Missed, 2)
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.Import(ctx, sample); return err })
	c := readClub(t, s, club)
	cases := []struct {
		name string
		link Link
		want string
	}{
		{"club", Link{Kind: ClubLink}, "done-1 missed-1 confirmed-1 tentative-2 far-confirmed-2"},
		{"far", Link{Kind: ClubLink, LinkOptions: LinkOptions{Far: true}}, "done-1 missed-1 confirmed-1 tentative-2 far-1 far-confirmed-2"},
		{"confirmed", Link{Kind: ClubLink, LinkOptions: LinkOptions{ConfirmedOnly: true}}, "done-1 missed-1 confirmed-1 far-confirmed-2"},
		{"apiary", Link{Kind: ApiaryLink, ApiaryID: c.Apiaries[1].ID}, "tentative-2 far-confirmed-2"},
		{"member", Link{Kind: MemberLink, MemberID: c.Members[0].ID}, "confirmed-1"},
		{"another member", Link{Kind: MemberLink, MemberID: c.Members[1].ID}, "missed-1"},
	}
	for _, k := range cases {
		t.Run(k.name, func(t *testing.T) {
			inClub(t, s, club, func(tx *Tx) error {
				visits, more, err := tx.FeedVisits(ctx, &k.link, FeedWindow{Today: today, From: today - 60, TentativeUntil: today + 56})
				var got []string
				for _, v := range visits {
					got = append(got, v.UID)
				}
				if strings.Join(got, " ") != k.want || more {
					t.Errorf("got %q, more %t; want %q", got, more, k.want)
				}
				return err
			})
		})
	}
}

// However large a club, a calendar reads a bounded share of it: the nearest.
func TestFeedVisitsAreBounded(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, err := s.CreateClub(ctx, "Old Mill Beekeepers")
	if err != nil {
		t.Fatal(err)
	}
	sample := sampleClub()
	for i := range 2 * (FeedAhead + FeedBehind) {
		on := today - 50 + scheduler.Date(i*100/(2*(FeedAhead+FeedBehind)))
		sample.Visits = append(sample.Visits, scheduler.Visit{ID: int64(i + 1), UID: fmt.Sprint("v", i), ApiaryID: 1, On: on, Status: scheduler.Confirmed})
	}
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.Import(ctx, sample); return err })
	inClub(t, s, club, func(tx *Tx) error {
		visits, more, err := tx.FeedVisits(ctx, &Link{Kind: ClubLink}, FeedWindow{Today: today, From: today - 60, TentativeUntil: today + 56})
		if err != nil {
			return err
		}
		first, last := visits[0].On, visits[len(visits)-1].On
		if len(visits) != FeedAhead+FeedBehind || !more || first < today-15 || last > today+40 {
			t.Errorf("%d visits from %s to %s, more %t", len(visits), first, last, more)
		}
		return nil
	})
}

// A change of entries at an apiary and one of the whole club in one transaction
// are one of the whole club, whichever came first.
func TestWholeChangesPrevail(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	at := []int64{readClub(t, s, club).Apiaries[0].ID}
	for _, c := range []struct {
		change func(*Tx)
		whole  bool
	}{
		{func(tx *Tx) { tx.feedChangedAt(at) }, false},
		{func(tx *Tx) { tx.feedChangedAt(at); tx.feedChanged() }, true},
		{func(tx *Tx) { tx.feedChanged(); tx.feedChangedAt(at) }, true},
	} {
		inClub(t, s, club, func(tx *Tx) error { c.change(tx); return nil })
		var whole bool
		inClub(t, s, club, func(tx *Tx) error {
			return tx.tx.QueryRow(ctx, `SELECT feed_whole = feed_version FROM club`).Scan(&whole)
		})
		if whole != c.whole {
			t.Errorf("a change of the whole club: %t, want %t", whole, c.whole)
		}
	}
}

// Whoever listens hears that a club's calendars end with it.
func TestDeletedClubIsTold(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	var before int64
	inClub(t, s, club, func(tx *Tx) (err error) {
		before, err = tx.FeedVersion(ctx)
		return err
	})
	conn, err := s.Listen(ctx, FeedChannel)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	if err := s.DeleteClub(ctx, club); err != nil {
		t.Fatal(err)
	}
	waiting, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	told, err := conn.WaitForNotification(waiting)
	if err != nil {
		t.Fatal(err)
	}
	if of, version, err := ParseFeedChange(told.Payload); err != nil || of != club || version <= before {
		t.Errorf("told %q: %v", told.Payload, err)
	}
}

// A corrected opening counts as corrected, and of each box the last day that
// counts is read.
func TestFeedClubReadsTheLastOpenings(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	box := c.Apiaries[0].Hives[0].Boxes[0]
	last := box.Openings[len(box.Openings)-1]
	corrected := scheduler.Opening{
		ID: uuid.NewString(), On: last.On, Joint: scheduler.Stuck, Frames: scheduler.NotTried, Supersedes: last.ID,
		Condition: []scheduler.Condition{scheduler.LidDamaged},
	}
	plain := c.Apiaries[1].Hives[0].Boxes[1]
	nothing := scheduler.Opening{ID: uuid.NewString(), On: last.On + 1, Joint: scheduler.Light, Frames: scheduler.NotTried}
	todays := scheduler.Opening{ID: uuid.NewString(), On: today, Joint: scheduler.Light, Frames: scheduler.NotTried}
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.RecordOpenings(ctx, []BoxOpening{{BoxID: box.ID, Opening: corrected}, {BoxID: box.ID, Opening: todays}, {BoxID: plain.ID, Opening: nothing}}, today)
		return err
	})
	inClub(t, s, club, func(tx *Tx) error {
		visits, err := tx.Visits(ctx, VisitFilter{OpenOnly: true, From: today})
		if err != nil {
			return err
		}
		got, _, err := tx.FeedClub(ctx, 0, visits, today)
		if err != nil {
			return err
		}
		for b := range eachBox(got) {
			switch {
			case b.ID == box.ID:
				if len(b.Openings) != 2 || b.Openings[0].ID != corrected.ID || b.Openings[1].ID != todays.ID || b.Openings[0].Condition[0] != scheduler.LidDamaged {
					t.Errorf("openings of the corrected box: %+v", b.Openings)
				}
			case b.ID == plain.ID:
				if len(b.Openings) != 0 {
					t.Errorf("openings of a box about which there is nothing to tell: %+v", b.Openings)
				}
			case len(b.Openings) != 1 || b.Openings[0].On != scheduler.NewDate(2027, 4, 24) || len(b.Openings[0].Gaps) != 2:
				t.Errorf("openings of box %s: %+v", b.Name, b.Openings)
			}
		}
		return nil
	})
}

// Of a done visit a calendar knows which of its boxes were opened on or near its
// day: not those left shut, opened at another time, or whose opening was taken back.
func TestFeedClubReadsWhatWasOpened(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	c := sampleClub()
	a := &c.Apiaries[0]
	on := today - 20
	visit := scheduler.Visit{ID: 1, UID: "made", ApiaryID: a.ID, On: on, Status: scheduler.Done, FirstSeen: on - 20}
	var marks []string
	for h := range a.Hives {
		for i := range a.Hives[h].Boxes {
			b := &a.Hives[h].Boxes[i]
			opening := func(on scheduler.Date) scheduler.Opening {
				return scheduler.Opening{ID: uuid.NewString(), On: on, Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}
			}
			var o []scheduler.Opening
			switch len(visit.Boxes) {
			case 0:
				o, marks = append(o, opening(on+2)), append(marks, b.Name)
			case 1:
				o = append(o, opening(on+3))
			case 2:
				o = append(o, opening(on))
				o[0].LeftShut, o[0].Joint = true, scheduler.Stuck
			case 3:
				o = append(o, opening(on), opening(on))
				o[1].Supersedes, o[1].Void = o[0].ID, true
			}
			b.Openings = o
			visit.Boxes = append(visit.Boxes, scheduler.VisitBox{BoxID: b.ID, Due: on, Reason: scheduler.BecauseOdds, Odds: 0.2})
		}
	}
	if len(visit.Boxes) < 4 {
		t.Fatalf("%d boxes are too few", len(visit.Boxes))
	}
	c.Visits = []scheduler.Visit{visit}
	inClub(t, s, importClub(t, s, c), func(tx *Tx) error {
		visits, err := tx.Visits(ctx, VisitFilter{})
		if err != nil {
			return err
		}
		got, _, err := tx.FeedClub(ctx, 0, visits, today)
		if err != nil {
			return err
		}
		var opened []string
		names := scheduler.NewNames(got)
		for _, id := range visits[0].Opened {
			_, mark := names.Box(id)
			opened = append(opened, mark)
		}
		if !slices.Equal(opened, marks) {
			t.Errorf("opened are %q, want %q", opened, marks)
		}
		return nil
	})
}
