package store

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/testdata/testrun"
)

// wholeTurn is what deciding would be given if everything were read.
func wholeTurn(ctx context.Context, tx *Tx, now time.Time) (*scheduler.Club, *scheduler.Plan, owed.Before, error) {
	turn, err := tx.TakeTurn(ctx, now)
	if err != nil {
		return nil, nil, owed.Before{}, err
	}
	c, err := tx.Club(ctx)
	if err != nil {
		return nil, nil, owed.Before{}, err
	}
	p, err := tx.SavedPlan(ctx, c.Today(now))
	if err != nil {
		return nil, nil, owed.Before{}, err
	}
	p.Unwritten = c.Unwritten(p.Today)
	keys, err := list[struct{ Key string }](ctx, tx, `SELECT key FROM message`)
	before := turn.Before
	before.Seen = func(key string) bool { return slices.Contains(keys, struct{ Key string }{key}) }
	return c, p, before, err
}

// Whatever stands in the tables, what is read for deciding decides the same as
// all the records do.
func TestOwedRecordsDecideTheSame(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	because := map[string]int{}
	times := 2
	if testrun.Soak() {
		times = 5
	}
	rapid.Check(t, func(rt *rapid.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			d := &drawnClub{rt: rt, tx: tx, c: c}
			d.draw()
			for range times {
				for _, m := range d.decideBoth() {
					if m.PassedOver != "" {
						because[m.PassedOver]++
					}
					for _, it := range m.Items {
						because[it.Because]++
					}
				}
			}
			return errTakeBack
		})
		if err != errTakeBack {
			rt.Fatal(err)
		}
	})
	for _, reason := range []string{
		owed.BecauseDaysBefore, owed.BecauseCaughtUp, owed.BecauseToday, owed.BecauseMoved, owed.BecauseCancelled, owed.BecauseDoneBefore,
		owed.BecauseOverdue, owed.BecauseEscalated, owed.BecauseUnanswered, owed.BecauseSilent, owed.PassedDayOver, owed.PassedNearer,
	} {
		if because[reason] == 0 {
			t.Errorf("never was anything owed because of %q: %v", reason, slices.Sorted(maps.Keys(because)))
		}
	}
}

// drawnClub writes rows over the sample's.
type drawnClub struct {
	rt *rapid.T
	tx *Tx
	c  *scheduler.Club

	silent bool // nobody says a word
}

// decideBoth decides by what is read for it, holds that against what all the
// records say, and returns it.
func (d *drawnClub) decideBoth() []owed.Message {
	ctx := context.Background()
	now := civil(0).Add(time.Duration(rapid.IntRange(-11*60, 11*60).Draw(d.rt, "minute")) * time.Minute)
	d.decided(now)
	c, p, before, err := wholeTurn(ctx, d.tx, now)
	if err != nil {
		d.rt.Fatal(err)
	}
	want := owed.Decide(c, p, now, before)
	turn, err := d.tx.TakeTurn(ctx, now)
	if err != nil {
		d.rt.Fatal(err)
	}
	var got []owed.Message
	if owed.Comes(turn.Club, now, turn.Before.Since) {
		plan, err := d.tx.OwedRecords(ctx, turn, now)
		if err != nil {
			d.rt.Fatal(err)
		}
		got = owed.Decide(turn.Club, plan, now, turn.Before)
	}
	if fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", want) {
		d.rt.Errorf("at %s is owed\n%+v\nand by all the records\n%+v", now, got, want)
	}
	return want
}

func (d *drawnClub) exec(sql string, args ...any) {
	d.rt.Helper()
	if _, err := d.tx.tx.Exec(context.Background(), sql, args...); err != nil {
		d.rt.Fatalf("%s: %v", sql, err)
	}
}

// around draws a day near those at which something is read no more.
func (d *drawnClub) around(label string) scheduler.Date {
	edge := rapid.SampledFrom([]int{0, 0, 0, -7, -7, -14, -60, 3, 10, 31, keysKept, 120, 300}).Draw(d.rt, label+" edge")
	return today - scheduler.Date(edge+rapid.IntRange(-3, 3).Draw(d.rt, label))
}

func (d *drawnClub) flag(label string, oneIn int) bool {
	return rapid.IntRange(1, oneIn).Draw(d.rt, label) == 1
}

func (d *drawnClub) draw() {
	d.rules()
	d.members()
	d.silent = d.flag("silent", 3)
	d.exec(`DELETE FROM visit`)
	for i := range rapid.IntRange(1, 14).Draw(d.rt, "visits") {
		d.visit(int64(9000 + i))
	}
	d.boxes()
	for _, m := range d.c.Members {
		for _, a := range d.c.Apiaries {
			for _, kind := range []scheduler.MessageKind{scheduler.OverdueMessage, scheduler.EscalateMessage} {
				if d.flag("told of the apiary", 3) {
					d.exec(`INSERT INTO told (club_id, member_id, about, apiary_id, kind, told_on) VALUES ($1, $2, $3::text || '/' || $4::bigint, $4, $3, $5)`,
						d.c.ID, m.ID, string(kind), a.ID, d.around("told of the apiary on"))
				}
			}
		}
		for range rapid.IntRange(0, 3).Draw(d.rt, "mails") {
			on := d.around("mailed")
			d.exec(`INSERT INTO message (club_id, key, kind, member_id, address, on_day, message_id, state, sent_at)
				VALUES ($1, $2, 'digest', $3, 'a@example.org', $4, $5, 'sent', now()) ON CONFLICT DO NOTHING`,
				d.c.ID, owed.DailyKey(d.c.ID, m.ID, on), m.ID, on, uuid.NewString())
		}
	}
}

func (d *drawnClub) rules() {
	r := scheduler.DefaultRules()
	r.NoticeDays = rapid.SampledFrom([]int{0, 14, 30}).Draw(d.rt, "notice")
	r.Reminders.DaysBefore = rapid.SampledFrom([][]int{{7, 1}, {}, {60, 14, 2}, {3}}).Draw(d.rt, "days before")
	r.Reminders.QuietAfter = rapid.IntRange(1, 3).Draw(d.rt, "quiet after")
	r.Reminders.EscalateAfterDays = rapid.SampledFrom([]int{0, 5, 21}).Draw(d.rt, "escalate after")
	document, err := encodeRules(&r)
	if err != nil {
		d.rt.Fatal(err)
	}
	d.exec(`INSERT INTO rules (club_id, version, document) VALUES ($1, 99, $2)`, d.c.ID, document)
}

func (d *drawnClub) members() {
	for _, m := range d.c.Members {
		zone := rapid.SampledFrom([]string{"", "Europe/Vienna", "Pacific/Kiritimati", "Pacific/Niue"}).Draw(d.rt, "zone")
		var paused scheduler.Date
		if d.flag("paused", 6) {
			paused = d.around("paused until")
		}
		days := rapid.SampledFrom([][]int{nil, nil, {}, {45, 1}}).Draw(d.rt, "own days before")
		mute := rapid.SampledFrom([][]string{{}, {}, {"moved"}, {"digest", "overdue"}}).Draw(d.rt, "mute")
		d.exec(`UPDATE member SET timezone = $2, days_before = $3, send_at = $4, mute = $5, paused_until = $6 WHERE id = $1`,
			m.ID, zone, days, rapid.IntRange(0, 1439).Draw(d.rt, "send at"), mute, paused)
	}
}

func (d *drawnClub) visit(id int64) {
	a := d.c.Apiaries[rapid.IntRange(0, 1).Draw(d.rt, "apiary")]
	statuses, words := append([]scheduler.VisitStatus{scheduler.Done, scheduler.Done, scheduler.Done}, scheduler.VisitStatuses...), []string{"", "", "", "going", "cannot"}
	if d.silent {
		statuses, words = []scheduler.VisitStatus{scheduler.Missed, scheduler.Missed, scheduler.Unanswered, scheduler.Cancelled, scheduler.Tentative}, []string{""}
	}
	status := rapid.SampledFrom(statuses).Draw(d.rt, "status")
	on, seen := d.around("visit"), d.around("first seen")
	var off, until scheduler.Date
	if status == scheduler.Cancelled {
		until = on
		if d.flag("called off", 2) {
			off = d.around("off until")
		}
	}
	d.exec(`INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status, cancelled_until, off_until, first_seen, no_time)
		VALUES ($1, $2::bigint, 'v' || $2::bigint, $3, $4, $5, $6, $7, $8, $9)`, d.c.ID, id, a.ID, on, string(status), until, off, seen, d.flag("no time", 3))
	n := 0
	for _, h := range a.Hives {
		for _, b := range h.Boxes {
			if d.flag("opens", 2) {
				n++
				d.exec(`INSERT INTO visit_box (club_id, visit_id, n, box_id, reason, odds) VALUES ($1, $2, $3, $4, '', 0)`, d.c.ID, id, n, b.ID)
			}
			if status == scheduler.Done && d.flag("recorded", 6) {
				d.exec(`INSERT INTO opening (club_id, id, box_id, on_day, joint, frames, scraped, by_member) VALUES ($1, $2, $3, $4, 1, 1, '', $5)`,
					d.c.ID, uuid.NewString(), b.ID, on, d.c.Members[rapid.IntRange(0, 1).Draw(d.rt, "recorded by")].ID)
			}
		}
	}
	for i, m := range d.c.Members {
		if d.flag("on the visit", 2) {
			said := rapid.SampledFrom(words).Draw(d.rt, "said")
			d.exec(`INSERT INTO visit_member (club_id, visit_id, member_id, n, said) VALUES ($1, $2, $3, $4, $5)`, d.c.ID, id, m.ID, i+1, said)
		}
		if d.flag("told", 2) {
			var told scheduler.Date
			if !d.flag("told of its end", 6) {
				told = d.around("told for")
			}
			kind := rapid.SampledFrom([]string{"digest", "moved", "ask"}).Draw(d.rt, "told as")
			d.exec(`INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on) VALUES ($1, $2, $3, '', $4, $5, $6)`,
				d.c.ID, m.ID, id, kind, told, d.around("told on"))
		}
	}
}

// boxes draws when boxes are due, as planning for a day leaves it.
func (d *drawnClub) boxes() {
	for _, a := range d.c.Apiaries {
		planned := today - scheduler.Date(rapid.IntRange(0, 2).Draw(d.rt, "planned days ago"))
		d.exec(`UPDATE apiary SET planned_on = $2 WHERE id = $1`, a.ID, planned)
		for _, h := range a.Hives {
			for _, b := range h.Boxes {
				due, alone := d.around("due"), rapid.SampledFrom([]string{"", "", "", "hive"}).Draw(d.rt, "left alone")
				reason := rapid.SampledFrom([]scheduler.Reason{scheduler.BecauseOdds, scheduler.BecauseOdds, scheduler.BecauseGuess}).Draw(d.rt, "because of")
				d.exec(`UPDATE due SET due = $2, left_alone = $3, reason = $4 WHERE box_id = $1`, b.ID, due, alone, reason)
			}
		}
	}
}

// decided draws when the club was last decided on, seen from now.
func (d *drawnClub) decided(now time.Time) {
	ago := rapid.SampledFrom([]time.Duration{0, 5 * time.Minute, 5 * time.Minute, 26 * time.Hour, 100 * time.Hour, 33 * 24 * time.Hour, -20 * time.Hour}).Draw(d.rt, "decided ago")
	d.exec(`DELETE FROM decided`)
	if ago != 0 {
		d.exec(`INSERT INTO decided (club_id, at) VALUES ($1, $2)`, d.c.ID, now.Add(-ago))
	}
}
