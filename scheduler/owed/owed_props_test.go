package owed

import (
	"fmt"
	"testing"
	"time"

	"pryday/scheduler"

	"pgregory.net/rapid"
)

// TestOwedProperties plays random clubs through random weeks with random
// outages: one daily mail per member and local day at most, never a key
// twice, nothing before its hour, nothing about what is over, and nothing
// more when asked again at once.
func TestOwedProperties(t *testing.T) {
	zonesDrawn := []string{"America/Toronto", "Pacific/Apia", "Australia/Lord_Howe", "Asia/Kathmandu", "America/St_Johns", "UTC"}
	rapid.Check(t, func(t *rapid.T) {
		c, p, box := mailClub(), &scheduler.Plan{}, newMailbox()
		for i := range c.Members {
			c.Members[i].Timezone = rapid.SampledFrom(zonesDrawn).Draw(t, "zone")
			at := scheduler.ClockTime(rapid.IntRange(0, 1439).Draw(t, "send"))
			c.Members[i].Prefs.SendAt = &at
		}
		start := time.Date(2027, 3, rapid.IntRange(1, 28).Draw(t, "start"), 0, 0, 0, 0, time.UTC)
		first := scheduler.DateOf(start)
		daily := map[string]bool{}
		outage := 0
		for tick := range 30 * 24 * 2 {
			now := start.Add(time.Duration(tick) * 30 * time.Minute)
			if rapid.IntRange(0, 40).Draw(t, "change") == 0 {
				changeVisits(t, c, p, first+scheduler.Date(tick/48))
			}
			if outage == 0 && rapid.IntRange(0, 300).Draw(t, "fails") == 0 {
				outage = rapid.IntRange(1, 300).Draw(t, "outage")
			}
			if outage > 0 {
				outage--
				continue
			}
			known := len(box.keys)
			out := Decide(c, p, now, box.before)
			if len(out) > 0 && !Comes(&scheduler.Club{Members: c.Members, Rules: c.Rules}, now, box.before.Since) {
				t.Fatalf("%s: nothing comes, and %+v is owed", now, out)
			}
			for _, m := range out {
				if box.keys[m.Key] {
					t.Fatalf("%s: key %s a second time", now, m.Key)
				}
				box.keys[m.Key] = true
				box.before.Told = append(box.before.Told, m.Tells()...)
				checkOwed(t, c, m, now, daily)
			}
			if again := Decide(c, p, now, Before{Seen: box.before.Seen, Told: box.before.Told, Since: now}); len(again) > 0 {
				t.Fatalf("%s: asked again at once, %+v is owed (%d keys before)", now, again, known)
			}
			box.before.Since = now
		}
	})
}

// changeVisits adds, moves, cancels or finishes a visit.
func changeVisits(t *rapid.T, c *scheduler.Club, p *scheduler.Plan, today scheduler.Date) {
	if len(c.Visits) == 0 || rapid.IntRange(0, 3).Draw(t, "new") == 0 {
		id := int64(len(c.Visits) + 1)
		c.Visits = append(c.Visits, scheduler.Visit{
			ID: id, UID: fmt.Sprint("v", id), ApiaryID: 4, Status: scheduler.Confirmed,
			On: today + scheduler.Date(rapid.IntRange(0, 12).Draw(t, "ahead")),
		})
	} else {
		v := &c.Visits[rapid.IntRange(0, len(c.Visits)-1).Draw(t, "which")]
		switch {
		case !v.Status.Open():
		case rapid.Bool().Draw(t, "move"):
			v.On = today + scheduler.Date(rapid.IntRange(0, 12).Draw(t, "to"))
		default:
			v.Status = rapid.SampledFrom([]scheduler.VisitStatus{scheduler.Cancelled, scheduler.Done, scheduler.Missed}).Draw(t, "status")
		}
		v.Who = [][]int64{nil, {3}, {1, 2}}[rapid.IntRange(0, 2).Draw(t, "who")]
	}
	p.Visits = nil
	for _, v := range c.Visits {
		if v.Status.Open() && v.On >= today {
			p.Visits = append(p.Visits, v)
		}
	}
}

// checkOwed holds one message against what every message must be.
func checkOwed(t *rapid.T, c *scheduler.Club, m Message, now time.Time, daily map[string]bool) {
	local := now.In(c.ZoneOf(c.Member(m.MemberID)))
	today := scheduler.DateOf(local)
	if len(m.Items) == 0 || m.Kind != m.Items[0].Kind || m.Reason == "" {
		t.Fatalf("%+v says nothing", m)
	}
	if m.PassedOver != "" {
		if m.On >= today || len(m.Tells()) > 0 {
			t.Fatalf("%s: %+v is passed over before its time", local, m)
		}
		return
	}
	if m.On != today {
		t.Fatalf("%s: %+v is of another day", local, m)
	}
	if m.Key == DailyKey(c.ID, m.MemberID, today) {
		if daily[m.Key] {
			t.Fatalf("%s: %s twice", local, m.Key)
		}
		daily[m.Key] = true
		if now.Before(SendInstant(today, *c.Member(m.MemberID).Prefs.SendAt, local.Location())) {
			t.Fatalf("%s: the mail goes before its hour", local)
		}
	}
	for _, it := range m.Items {
		if it.VisitOn != 0 && it.VisitOn < today || it.WasOn != 0 && it.WasOn < today {
			t.Fatalf("%s: %+v is about what is over", local, it)
		}
		if it.Kind == scheduler.DayMessage && it.VisitOn != today || it.Kind == scheduler.DigestMessage && it.VisitOn <= today {
			t.Fatalf("%s: %+v is of the wrong kind", local, it)
		}
	}
}

// BenchmarkOwed: one tick after the morning's mail in a club of 200 members,
// 100 apiaries and 700 boxes, and in one of 40,000 apiaries.
func BenchmarkOwed(b *testing.B) {
	for _, size := range []struct{ members, apiaries int }{{200, 100}, {400, 40_000}} {
		b.Run(fmt.Sprintf("%d-apiaries", size.apiaries), func(b *testing.B) {
			c, p := &scheduler.Club{ID: 1, Rules: scheduler.DefaultRules()}, &scheduler.Plan{}
			today := scheduler.NewDate(2027, 6, 1)
			for i := range size.members {
				c.Members = append(c.Members, scheduler.Member{ID: int64(i + 1), Role: scheduler.Keeper, Timezone: "Europe/Vienna"})
			}
			c.Members[0].Role = scheduler.Organiser
			for i := range size.apiaries {
				id := int64(i + 1)
				c.Apiaries = append(c.Apiaries, scheduler.Apiary{ID: id, Timezone: "Europe/Vienna", Keepers: []int64{int64(i%size.members + 1)}})
				p.Visits = append(p.Visits, scheduler.Visit{ID: id, UID: fmt.Sprint(id), ApiaryID: id, On: today + scheduler.Date(i%30), Status: scheduler.Confirmed})
				for j := range 7 {
					p.Boxes = append(p.Boxes, scheduler.BoxState{BoxID: id*7 + int64(j), ApiaryID: id, Due: today - 30, Overdue: j == 0})
				}
			}
			now := time.Date(2027, 6, 1, 6, 0, 0, 0, time.UTC)
			if n := len(Decide(c, p, now, Before{})); n == 0 {
				b.Fatal("nothing is owed")
			}
			b.ReportAllocs()
			for b.Loop() {
				Decide(c, p, now, Before{})
			}
		})
	}
}
