package scheduler

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

const (
	historyFrom  = Date(738000)
	historyUntil = historyFrom + 900
)

// drawHistory draws a club of two apiaries with four hives, whose boxes move
// about, are opened, stored, lent, repaired and requeened.
func drawHistory(t *rapid.T) *Club {
	day := func(from Date, what string) Date {
		return from + Date(spread(t, what, int(historyUntil+30-from)))
	}
	c := &Club{Rules: DefaultRules(), Apiaries: []Apiary{
		{ID: 1, Latitude: 44, Hives: []Hive{{ID: 1}, {ID: 2}}},
		{ID: 2, Latitude: -37, ElevationM: 400, Hives: []Hive{{ID: 3}, {ID: 4}}},
	}}
	hives := []*Hive{&c.Apiaries[0].Hives[0], &c.Apiaries[0].Hives[1], &c.Apiaries[1].Hives[0], &c.Apiaries[1].Hives[1]}
	for i := range rapid.IntRange(1, 7).Draw(t, "boxes") {
		b := Box{ID: int64(i + 1), SetUpOn: historyFrom + Date(rapid.IntRange(0, 60).Draw(t, "set up"))}
		from := b.SetUpOn
		for range rapid.IntRange(1, 4).Draw(t, "places") {
			p := BoxPlace{From: from, Where: rapid.SampledFrom([]Where{OnHive, OnHive, OnHive, InStore, Lent}).Draw(t, "where")}
			if p.Where == OnHive {
				// positions differ, so that the order of the stack is certain
				p.HiveID, p.Position = int64(rapid.IntRange(1, 4).Draw(t, "hive")), len(b.Places)*10+i+1
			}
			b.Places = append(b.Places, p)
			from += 1 + Date(spread(t, "stays", 400))
		}
		for range rapid.IntRange(0, 8).Draw(t, "openings") {
			b.Openings = append(b.Openings, Opening{
				ID: fmt.Sprintf("%d-%d", i, len(b.Openings)), On: day(b.SetUpOn, "opened"),
				Joint:    Difficulty(rapid.IntRange(-1, 4).Draw(t, "joint")),
				Frames:   Difficulty(rapid.IntRange(-1, 4).Draw(t, "frames")),
				LeftShut: rapid.IntRange(0, 5).Draw(t, "left shut") == 0,
				Scraped:  rapid.SampledFrom([]Scraped{ScrapedAll, ScrapedPart, ScrapedNone, ""}).Draw(t, "scraped"),
			})
		}
		for range rapid.IntRange(0, 1).Draw(t, "repairs") {
			b.Repaired = append(b.Repaired, day(b.SetUpOn, "repaired"))
		}
		if last := b.Places[len(b.Places)-1]; last.Where == OnHive {
			hive := hives[last.HiveID-1]
			hive.Boxes = append(hive.Boxes, b)
		} else {
			c.Spare = append(c.Spare, b)
		}
	}
	for _, hive := range hives {
		for range rapid.IntRange(0, 1).Draw(t, "queens") {
			hive.Requeened = append(hive.Requeened, day(historyFrom, "requeened"))
		}
	}
	for range rapid.IntRange(0, 6).Draw(t, "visits") {
		v := Visit{ApiaryID: 1, On: day(historyFrom, "visited"), Status: rapid.SampledFrom([]VisitStatus{Done, Done, Missed}).Draw(t, "status")}
		for id := range int64(7) {
			if rapid.Bool().Draw(t, "listed") {
				v.Boxes = append(v.Boxes, VisitBox{BoxID: id + 1})
				if rapid.IntRange(0, 3).Draw(t, "said not") == 0 {
					v.NotOpened = append(v.NotOpened, id+1)
				}
			}
		}
		c.Visits = append(c.Visits, v)
	}
	return c
}

func TestReplayAgreesWithADayByDayOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawHistory(t)
		until := historyFrom + 60 + Date(spread(t, "until", 840))
		o := newOracle(c)
		o.run(historyFrom, until)
		run := newReplay(c)
		run.run(until, nil)
		for h := range run.hives { // a rate stands for its hive's last event
			run.hives[h].state.advance(until)
		}
		for i, b := range everyBox(c) {
			r := run.rate(&run.boxes[i])
			mean, variance := o.rate(b)
			age := r.Age(o.seasons[r.HiveID], until)
			if r.BoxID != b.ID {
				t.Fatalf("rate %d is of box %d, want box %d", i, r.BoxID, b.ID)
			}
			if p := o.on[b.ID]; p.Where == OnHive && (r.HiveID != p.HiveID || r.Position != p.Position) || p.Where != OnHive && r.HiveID != 0 {
				t.Fatalf("box %d stands on hive %d, want %+v", b.ID, r.HiveID, p)
			}
			if math.Abs(age-o.meanAge(b.ID)) > 1e-7 || math.Abs(r.Mean-mean) > 1e-7 || math.Abs(r.VarianceOn(until)-variance) > 1e-7 {
				t.Fatalf("box %d: age %.9f mean %.9f variance %.9f, want %.9f %.9f %.9f", b.ID,
					age, r.Mean, r.VarianceOn(until), o.meanAge(b.ID), mean, variance)
			}
		}
	})
}

func TestReplayOfAnApiaryIsItsPart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawHistory(t)
		all := Replay(c, historyUntil)
		for i := range c.Apiaries {
			n := 0
			for _, h := range c.Apiaries[i].Hives {
				n += len(h.Boxes)
			}
			if got := ReplayApiary(c, c.Apiaries[i].ID, historyUntil); !slices.Equal(got, all[:n]) {
				t.Fatalf("apiary %d: %v, want %v", c.Apiaries[i].ID, got, all[:n])
			}
			all = all[n:]
		}
		if got := ReplayApiary(c, 99, historyUntil); len(got) != 0 {
			t.Fatalf("an apiary that is not there: %v", got)
		}
	})
}

// A correction recorded later must leave no trace of what it corrected.
func TestCorrectionsReplayAsIfRightAtFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		right := drawHistory(t)
		want := Replay(right, historyUntil)
		for _, b := range everyBox(right) {
			recorded := append([]Opening(nil), b.Openings...)
			for i := range b.Openings {
				if !rapid.Bool().Draw(t, "corrected") {
					continue
				}
				wrong := recorded[i]
				wrong.ID = fmt.Sprint("wrong-", b.ID, "-", i)
				wrong.On = historyFrom + Date(spread(t, "wrong day", 900))
				wrong.Joint = Difficulty(rapid.IntRange(0, 4).Draw(t, "wrong joint"))
				wrong.LeftShut = !wrong.LeftShut
				last := wrong.ID
				late := recorded[i]
				recorded[i] = wrong
				if rapid.Bool().Draw(t, "twice") {
					again := wrong
					again.ID, again.Supersedes, again.Void = last+"-again", last, rapid.Bool().Draw(t, "taken back")
					recorded = append(recorded, again)
					last = again.ID
				}
				late.Supersedes = last
				recorded = append(recorded, late)
			}
			if rapid.Bool().Draw(t, "one never happened") {
				recorded = append(recorded,
					Opening{ID: "not", On: historyFrom + 300, Joint: Stuck},
					Opening{ID: "void", Supersedes: "not", Void: true, On: historyFrom + 300})
			}
			b.Openings = recorded
		}
		if got := Replay(right, historyUntil); !slices.Equal(got, want) {
			t.Fatalf("%v,\nwant %v", got, want)
		}
	})
}
