package scheduler

import (
	"strings"
	"testing"
)

// TestAGuessIsNeverOverdue plans a box of which only a guess is known, from the day
// of the guess on for a year, under rules that make it due in every way.
func TestAGuessIsNeverOverdue(t *testing.T) {
	guessed := date("2027-03-10")
	for _, today := range []Date{guessed, guessed + 27, guessed + 29, guessed + 60, guessed + 200, guessed + 364} {
		c := stand(guessed, nil)
		box := &c.Apiaries[0].Hives[0].Boxes[0]
		box.SetUpOn, box.GuessedOn = GuessedDay(guessed), guessed
		p := PlanClub(c, today)
		b := &p.Boxes[0]
		says := english(ExplainBox(c, p, b).Text())
		if b.Overdue || strings.Contains(says, "overdue") || !strings.Contains(says, "is a guess (about ") {
			t.Errorf("on %s: overdue %t, %s", today, b.Overdue, says)
		}
		if today < guessed+guessDays && b.Due < guessed+guessDays {
			t.Errorf("on %s it is due on %s", today, b.Due)
		}
		if len(p.Visits) == 0 {
			t.Fatalf("on %s nobody is sent to look", today)
		}
		if visit := english(ExplainVisit(c, p, &p.Visits[0]).Text()); strings.Contains(visit, "overdue") {
			t.Errorf("on %s: %s", today, visit)
		}

		box.GuessedOn = 0
		if p := PlanClub(c, today); today < guessed+60 && !p.Boxes[0].Overdue {
			t.Errorf("on %s a box that is known to stand for a year is not overdue", today)
		}
		box.GuessedOn, box.Openings = guessed, []Opening{opened("2026-06-01", Hard)}
		if p := PlanClub(c, today); !p.Boxes[0].Overdue || p.Boxes[0].Reason == BecauseGuess {
			t.Errorf("on %s an opening on record is taken for a guess: %+v", today, p.Boxes[0])
		}
		box.Openings = []Opening{{ID: "shut", On: guessed, Joint: Stuck, Frames: NotTried, LeftShut: true}}
		if p := PlanClub(c, today); p.Boxes[0].Reason == BecauseGuess {
			t.Errorf("on %s somebody has tried it, and it is taken for a guess: %+v", today, p.Boxes[0])
		}
	}
}

// TestRoughly takes each answer for a day: build-up at 45.5 degrees begins on 18
// April (the table of starts, a guess of ours).
func TestRoughly(t *testing.T) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: 45.5}, &rules)
	for _, tt := range []struct {
		today string
		ago   Ago
		want  string
	}{
		{"2027-08-06", ThisMonth, "2027-07-22"},
		{"2027-08-06", ThisSeason, "2027-06-12"}, // 110 days after 18 Apr
		{"2027-08-06", LastYear, "2026-06-12"},
		{"2027-08-06", LongerAgo, "2025-06-12"},
		{"2027-04-20", ThisSeason, "2027-04-05"}, // no later than "this month"
		{"2027-04-17", LastYear, "2025-10-17"},   // the season of 2026 is not over: 364 days, the middle is 17 Oct
		{"2027-08-06", NobodyKnows, ""},
	} {
		if got := s.Roughly(tt.ago, date(tt.today)).String(); got != tt.want {
			t.Errorf("on %s, %s: %s, want %s", tt.today, tt.ago, got, tt.want)
		}
	}
	tropics := NewSeason(Place{Latitude: 10}, &rules)
	if got, want := tropics.Roughly(ThisSeason, date("2027-08-06")), date("2027-08-06")-90; got != want {
		t.Errorf("where one stage lasts all year: %s, want %s", got, want)
	}
}

func TestAbout(t *testing.T) {
	today := date("2027-06-10")
	for days, want := range map[Date]string{
		15: "about a month ago", 90: "about 3 months ago", 300: "about 10 months ago", 365: "about a year ago", 600: "about 2 years ago", 730: "about 2 years ago",
	} {
		if got := english(about(today-days, today)); got != want {
			t.Errorf("%d days: %s, want %s", days, got, want)
		}
	}
}

// TestWordsOfAGuess: what nobody knows is not said to be known.
func TestWordsOfAGuess(t *testing.T) {
	for guessed, want := range map[Date][2]string{0: {"box.last-never", "page.hive.set-up"}, date("2027-03-10"): {"box.last-unknown", "page.hive.set-up-guess"}} {
		b := Box{SetUpOn: date("2026-03-10"), GuessedOn: guessed}
		if got := [2]string{b.NeverOpened().Key, b.SetUp().Key}; got != want {
			t.Errorf("guessed on %s: %v, want %v", guessed, got, want)
		}
	}
}

// TestGuessedSetUpMovesBack: an opening from before shows that a box stood there, unless
// it is known or was said since when.
func TestGuessedSetUpMovesBack(t *testing.T) {
	setUp, guessed := date("2026-06-01"), date("2027-03-10")
	for name, tt := range map[string]struct {
		box  Box
		on   Date
		may  bool
		want Date
	}{
		"known":             {Box{SetUpOn: setUp}, setUp - 1, false, setUp},
		"known, that day":   {Box{SetUpOn: setUp}, setUp, true, setUp},
		"a guess":           {Box{SetUpOn: setUp, GuessedOn: guessed}, setUp - 40, true, setUp - 40},
		"a guess, later":    {Box{SetUpOn: setUp, GuessedOn: guessed}, setUp + 40, true, setUp},
		"somebody answered": {Box{SetUpOn: setUp, GuessedOn: guessed, GuessAnswered: true}, setUp - 40, false, setUp},
	} {
		places := []BoxPlace{{From: setUp, Where: OnHive, HiveID: 11, Position: 1}, {From: setUp + 90, Where: InStore}}
		tt.box.Places = places
		if got := tt.box.MayStandOn(tt.on); got != tt.may {
			t.Errorf("%s: it may have stood on %s: %t, want %t", name, tt.on, got, tt.may)
		}
		tt.box.StoodOn(tt.on)
		if tt.box.SetUpOn != tt.want || tt.box.Places[0].From != tt.want || tt.box.Places[1].From != setUp+90 || places[0].From != setUp {
			t.Errorf("%s: set up on %s, at %v, want %s", name, tt.box.SetUpOn, tt.box.Places, tt.want)
		}
	}
}
