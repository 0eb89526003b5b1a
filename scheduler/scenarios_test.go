package scheduler_test

import (
	"math"
	"os"
	"testing"

	"pryday/scheduler"
	"pryday/store/records"
)

// Every date here is worked out by hand from the rules, as the comments say.
func TestScenarios(t *testing.T) {
	type box struct {
		name   string
		age    float64 // sealing days today
		due    string
		reason scheduler.Reason
	}
	for _, tt := range []struct {
		file, today string
		boxes       []box
		next        string // the first visit
	}{
		// Build-up at the centre 45.5 is 18 Apr to 4 Jun, 48 days, whose 24th
		// is the middle. From 25 Sep: 30 days of autumn at 1.2 and 158 of
		// winter at 0.03 are 40.74.
		{"one-hive", "2027-04-01", []box{{"1", 40.74, "2027-05-11", scheduler.BecauseRequired}}, "2027-05-11"},
		// The same half a year later: 18 Apr and 182.5 days is 18 Oct. From 20
		// Mar: 2 days at 1.6, 35 at 1.2 and 128 at 0.03 are 49.04.
		{"southern", "2027-09-01", []box{{"1", 49.04, "2027-11-10", scheduler.BecauseRequired}}, "2027-11-10"},
		// Flow all year: a day is a sealing day. With no history the odds are
		// Phi((ln A - ln 220) / sqrt(0.45 + 0.05 A/365 + 0.2025)); 0.198 at
		// A = 110 and 0.201 at 111.
		{"tropics", "2027-02-01", []box{{"1", 31, "2027-04-22", scheduler.BecauseOdds}}, "2027-04-22"},
		// 1000 m higher spring is 22 days later and the end of the year 22 days
		// earlier. From 25 Aug: 26 days at 1.6, 35 at 1.2, 158 at 0.03; and 4
		// at 1.6, 35 at 1.2, 180 at 0.03.
		{"elevation", "2027-04-01", []box{
			{"1", 88.34, "2027-05-11", scheduler.BecauseRequired},
			{"1", 53.80, "2027-06-02", scheduler.BecauseRequired},
		}, "2027-05-11"},
		// 100 days from 20 Apr, when the lower box was set up, and from 8 Jun,
		// when the upper one was opened. To 8 Jun: 46 days at 0.5 and 3 at 1. That day
		// the lower box may have been opened too, 1 in 10, and 0.2 be left:
		// 0.9 x 26 + 0.1 x 5.2, and 2 days at 1 since.
		{"longest-wait", "2027-06-10", []box{
			{"2", 25.92, "2027-07-29", scheduler.BecauseLongest},
			{"1", 2, "2027-09-16", scheduler.BecauseLongest},
		}, "2027-07-29"},
		// As above. Box 3 stood on box 2 and came off on 8 Jun, with 26 on its seal, of
		// which nobody said what was scraped: 0.2 of it are left, 5.2, and 2 days at 1
		// have come since; its hundred days begin there. Box 1 stood below.
		{"came-off", "2027-06-10", []box{
			{"1", 25.92, "2027-07-29", scheduler.BecauseLongest},
			{"2", 2, "2027-09-16", scheduler.BecauseLongest},
			{"3", 7.2, "2027-09-16", scheduler.BecauseLongest},
		}, "2027-07-29"},
		// As above. To 5 Aug: 46 days at 0.5, 57 at 1 and 4 at 1.6; box 2 from 20 Jul
		// 12 at 1 and 4 at 1.6. Box 1 would not open on 4 Aug: it stays due a hundred
		// days from 20 Apr, and whoever comes again has three days to find a second
		// person. Winter begins on 25 Oct, and box 2 is not opened in the 21 days before.
		{"left-shut", "2027-08-05", []box{
			{"1", 86.4, "2027-07-29", scheduler.BecauseLongest},
			{"2", 18.4, "2027-10-03", scheduler.BecauseLongest},
		}, "2027-08-07"},
		// From 1 Aug: 50 days at 1.6 and 25 at 1.2 are 110 on 15 Oct, near enough to
		// winter that nothing is opened; the rest of autumn is 12, and 167 days at 0.03
		// are 5.01. Build-up begins on 18 Apr, and its first twelve days are too cold.
		{"after-winter", "2027-04-10", []box{{"1", 127.01, "2027-04-30", scheduler.BecauseOdds}}, "2027-04-30"},
		// From 1 May: 35 days at 0.5, 57 at 1, and on 24 Aug 23 at 1.6, are 111.3: the
		// odds are Phi((ln 111.3 - ln 220) / sqrt(0.45 + 0.05 115/365 + 0.2025)), 0.202.
		// To 20 May of the next year, a Thursday: 27 and 35 days more of late summer and
		// autumn, 175 of winter and 32 of build-up. Two days ahead is a Saturday, and the
		// keeper comes on Wednesdays.
		{"lead-days", "2027-05-20", []box{{"1", 217.75, "2026-08-24", scheduler.BecauseOdds}}, "2027-05-26"},
		// From 1 Sep: 19 days at 1.6, 35 at 1.2, 175 at 0.03 and 44 at 0.5 are 99.65 on 1
		// Jun, and 109.65 on 13 Jun, with odds of 0.2 of hard and 0.06 of stuck. Prying is
		// worth 0.3 h 0.14 + 8 h 0.06 then, 0.52 h; and at the harvest on 1 Aug, with 158.65,
		// 0.35 and 0.13, 1.13 h. Waiting adds 0.61 h. Boxes 3 to 9 are full, and each takes
		// 0.1 h to lift: for box 3 and those below it all seven, for box 4 only six.
		{"full-boxes", "2027-06-01", []box{
			{"1", 99.65, "2027-08-01", scheduler.BecauseOdds},
			{"2", 99.65, "2027-08-01", scheduler.BecauseOdds},
			{"3", 99.65, "2027-08-01", scheduler.BecauseOdds},
			{"4", 99.65, "2027-06-13", scheduler.BecauseOdds},
			{"5", 99.65, "2027-06-13", scheduler.BecauseOdds},
			{"6", 99.65, "2027-06-13", scheduler.BecauseOdds},
			{"7", 99.65, "2027-06-13", scheduler.BecauseOdds},
			{"8", 99.65, "2027-06-13", scheduler.BecauseOdds},
			{"9", 99.65, "2027-06-13", scheduler.BecauseOdds},
		}, "2027-06-13"},
		// Build-up is 18 Apr to 4 Jun, its middle 11 May. From 20 Mar to 8 May: 29 days of
		// winter at 0.03 and 20 at 0.5 are 10.87. On 8 May the list of a visit had boxes 1,
		// 3 and 4, and box 3 alone was written down. So 0.2 of it, 2.174, are left in boxes
		// 1 and 4 with 4 in 5 chances: 3.9132 on average, and 2 days at 0.5 since. Build-up
		// asks no more for box 4, which stands below box 3, and it waits 100 days from 20
		// Mar; of the hive of box 1 nothing was written down, and build-up still asks for
		// it. Box 2 was on no list; nothing is planned for sooner than two days ahead.
		{"unwritten", "2027-05-10", []box{
			{"1", 4.9132, "2027-05-11", scheduler.BecauseRequired},
			{"2", 11.87, "2027-05-11", scheduler.BecauseRequired},
			{"4", 4.9132, "2027-06-28", scheduler.BecauseLongest},
			{"3", 1, "2027-08-16", scheduler.BecauseLongest},
		}, "2027-05-12"},
		// From 20 Apr: 46 days at 0.5 and, in the flow from 5 Jun on, 3 at 1 are 26 on 8 Jun,
		// when Larch died: nothing seals any more, and nothing is due. In Rowan 12 more
		// have come, and its hundred days end on 29 Jul.
		{"colony-died", "2027-06-20", []box{
			{"1", 26, "", ""},
			{"2", 38, "2027-07-29", scheduler.BecauseLongest},
		}, "2027-07-29"},
		// Larch died on 1 May, after 11 days at 0.5; new bees came on 15 Jun, and 5 days at 1
		// since. From Rowan the bees went on 8 Jun with 26, and the next are expected on 10
		// Aug: there is nothing to open before, though its hundred days end on 29 Jul.
		{"colony-new", "2027-06-20", []box{
			{"1", 10.5, "2027-07-29", scheduler.BecauseLongest},
			{"2", 26, "2027-08-10", scheduler.BecauseLongest},
		}, "2027-07-29"},
		// 1000 m higher build-up begins on 10 May and the flow on 27 Jun. Larch stood in the
		// valley for 11 days at 0.5; on the ridge it had 9 of winter at 0.03 and 41 at 0.5.
		// Oak always stood there: 20 days at 0.03 and 41 at 0.5.
		{"colony-moved", "2027-06-20", []box{
			{"1", 26.27, "2027-07-29", scheduler.BecauseLongest},
			{"2", 21.1, "2027-07-29", scheduler.BecauseLongest},
		}, "2027-07-29"},
		// Box 2 went up to the ridge on 8 Jun with 26, and had 12 days at 0.5 there; box 3
		// came down with 20 days at 0.03 and 29 at 0.5, and had 12 at 1. Box 1 stayed.
		{"colony-split", "2027-06-20", []box{
			{"1", 38, "2027-07-29", scheduler.BecauseLongest},
			{"3", 27.1, "2027-07-29", scheduler.BecauseLongest},
			{"2", 32, "2027-07-29", scheduler.BecauseLongest},
		}, "2027-07-29"},
		// The hundred days end on 29 Jul, while Larch is left alone until 10 Aug for its new
		// queen: it is opened on the day after. From 20 Apr: 46 days at 0.5 and 50 at 1.
		{"colony-requeened", "2027-07-25", []box{
			{"1", 73, "2027-08-11", scheduler.BecauseLongest},
			{"2", 73, "2027-07-29", scheduler.BecauseLongest},
		}, "2027-07-29"},
		// Flow is 5 Jun to 31 Jul, late summer to 19 Sep, autumn to 24 Oct, build-up from 18
		// Apr. From 10 Jun 2026: 52 days at 1, 50 at 1.6, 35 at 1.2, 175 at 0.03, 48 at 0.5
		// and 5 at 1 are 208.25 a year later. A hundred days from then ended on 18 Sep: box 2
		// is overdue since, and so would 1 be, but 10 Jun 2026 is a guess of today: 28 days
		// on is 8 Jul. Nobody said anything of box 1, so its age is the mean of several: 22.5, 31.01,
		// 135.45 and 250.9 weigh 0.3, 0.2, 0.3 and 0.2. That of box 3 is of 1 May, and its 28 days ended on 29 May. The guess
		// of box 4 leaves a hundred days from 10 May, as if it were known: 26 days at 0.5 and
		// 5 at 1. Box 5 was opened since, and counts from there.
		{"guessed", "2027-06-10", []box{
			{"1", 103.767, "2027-07-08", scheduler.BecauseGuess},
			{"2", 208.25, "2026-09-18", scheduler.BecauseLongest},
			{"3", 208.25, "2027-05-29", scheduler.BecauseGuess},
			{"4", 18, "2027-08-18", scheduler.BecauseLongest},
			{"5", 2, "2027-09-16", scheduler.BecauseLongest},
		}, "2027-06-12"},
	} {
		t.Run(tt.file, func(t *testing.T) {
			data, err := os.ReadFile("../testdata/scenarios/" + tt.file + ".json")
			if err != nil {
				t.Fatal(err)
			}
			c, err := records.Parse(data)
			if err != nil {
				t.Fatal(err)
			}
			today, err := scheduler.ParseDate(tt.today)
			if err != nil {
				t.Fatal(err)
			}
			plan := scheduler.PlanClub(c, today)
			names := scheduler.NewNames(c)
			if len(plan.Boxes) != len(tt.boxes) || len(plan.Visits) == 0 {
				t.Fatalf("planned %+v", plan)
			}
			for i, want := range tt.boxes {
				got := plan.Boxes[i]
				_, name := names.Box(got.BoxID)
				if name != want.name || math.Abs(got.SealingDays-want.age) > 1e-9 || got.Due.String() != want.due || got.Reason != want.reason {
					t.Errorf("box %s: age %.2f, due %s because of %s; want %+v", name, got.SealingDays, got.Due, got.Reason, want)
				}
			}
			if got := plan.Visits[0].On.String(); got != tt.next {
				t.Errorf("the first visit is on %s, want %s", got, tt.next)
			}
		})
	}
}
