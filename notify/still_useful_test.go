package notify

import (
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

func TestStillUseful(t *testing.T) {
	day := scheduler.NewDate(2027, time.May, 1)
	visit := func(on scheduler.Date, status scheduler.VisitStatus) scheduler.Visit {
		return scheduler.Visit{ID: 5, UID: "v1", ApiaryID: 2, On: on, Status: status}
	}
	item := func(kind scheduler.MessageKind, on, was scheduler.Date) owed.Item {
		return owed.Item{Kind: kind, VisitUID: "v1", VisitID: 5, ApiaryID: 2, VisitOn: on, WasOn: was}
	}
	boxes := owed.Item{Kind: scheduler.OverdueMessage, ApiaryID: 2, BoxIDs: []int64{11, 12}}
	tests := []struct {
		name  string
		visit scheduler.Visit
		prefs scheduler.Preferences
		boxes []scheduler.BoxState
		items []owed.Item
		kept  int
		why   string // that the record must say; empty: sent
	}{
		{"as it was", visit(day+1, scheduler.Confirmed), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.DigestMessage, day+1, 0)}, 1, ""},
		{"today", visit(day, scheduler.Confirmed), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.DayMessage, day, 0)}, 1, ""},
		{"delivered a day late", visit(day-1, scheduler.Confirmed), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.DayMessage, day-1, 0)}, 0, "the day of the visit is over"},
		{"cancelled meanwhile", visit(day+1, scheduler.Cancelled), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.DigestMessage, day+1, 0)}, 0, "the visit was cancelled"},
		{"done meanwhile", visit(day, scheduler.Done), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.DayMessage, day, 0)}, 0, "the visit was done"},
		{"moved meanwhile", visit(day+3, scheduler.Confirmed), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.DigestMessage, day+1, 0)}, 0, "the visit moved to 4 May 2027"},
		{"gone", scheduler.Visit{UID: "other"}, scheduler.Preferences{}, nil, []owed.Item{item(scheduler.DigestMessage, day+1, 0)}, 0, "not on record"},
		{"a move told", visit(day+3, scheduler.Confirmed), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.MovedMessage, day+3, day+1)}, 1, ""},
		{"a move overtaken", visit(day+5, scheduler.Confirmed), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.MovedMessage, day+3, day+1)}, 0, "the visit moved"},
		{"a cancellation told", visit(day+3, scheduler.Cancelled), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.MovedMessage, 0, day+3)}, 1, ""},
		{"a cancellation too late", visit(day-1, scheduler.Cancelled), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.MovedMessage, 0, day-1)}, 0, "the day of the visit is over"},
		{"a cancellation overtaken", visit(day+3, scheduler.Confirmed), scheduler.Preferences{}, nil, []owed.Item{item(scheduler.MovedMessage, 0, day+3)}, 0, "the visit is planned again"},
		{"paused", visit(day+1, scheduler.Confirmed), scheduler.Preferences{PausedUntil: day + 9}, nil, []owed.Item{item(scheduler.DigestMessage, day+1, 0)}, 0, "paused reminders until 10 May 2027"},
		{"pause over", visit(day+1, scheduler.Confirmed), scheduler.Preferences{PausedUntil: day}, nil, []owed.Item{item(scheduler.DigestMessage, day+1, 0)}, 1, ""},
		{"muted", visit(day+1, scheduler.Confirmed), scheduler.Preferences{Mute: []scheduler.MessageKind{scheduler.DigestMessage}}, nil, []owed.Item{item(scheduler.DigestMessage, day+1, 0)}, 0, `the kind "visits to come"`},
		{"half muted", visit(day, scheduler.Confirmed), scheduler.Preferences{Mute: []scheduler.MessageKind{scheduler.OverdueMessage}}, []scheduler.BoxState{{BoxID: 11, Overdue: true}}, []owed.Item{item(scheduler.DayMessage, day, 0), boxes}, 1, ""},
		{"one box opened", scheduler.Visit{}, scheduler.Preferences{}, []scheduler.BoxState{{BoxID: 11}, {BoxID: 12, Overdue: true}}, []owed.Item{boxes}, 1, ""},
		{"both boxes opened", scheduler.Visit{}, scheduler.Preferences{}, []scheduler.BoxState{{BoxID: 11}, {BoxID: 12}}, []owed.Item{boxes}, 0, "opened"},
		{"nothing", scheduler.Visit{}, scheduler.Preferences{}, nil, nil, 0, "nothing left to tell"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := &scheduler.Club{Visits: []scheduler.Visit{tt.visit}}
			kept, why := stillUseful(c, &scheduler.Plan{Boxes: tt.boxes}, &scheduler.Member{Prefs: tt.prefs}, tt.items, day)
			if len(kept) != tt.kept || why.IsZero() != (tt.why == "") || !strings.Contains((&text.Speaker{}).Tell(why), tt.why) {
				t.Errorf("kept %d (%v), why %v; want %d, %q", len(kept), kept, why, tt.kept, tt.why)
			}
		})
	}
	if len(boxes.BoxIDs) != 2 {
		t.Error("the record's own list was changed")
	}
}

// What is planned counts over what is on record.
func TestPlanCountsOverRecord(t *testing.T) {
	day := scheduler.NewDate(2027, time.May, 1)
	c := &scheduler.Club{Visits: []scheduler.Visit{{UID: "v1", On: day + 1, Status: scheduler.Confirmed}}}
	p := &scheduler.Plan{Visits: []scheduler.Visit{{UID: "v1", On: day + 4, Status: scheduler.Confirmed}}}
	told := []owed.Item{{Kind: scheduler.DigestMessage, VisitUID: "v1", VisitOn: day + 1}}
	if _, why := stillUseful(c, p, &scheduler.Member{}, told, day); why.Key != "passed.moved" {
		t.Errorf("of a visit that is planned for another day: %v", why)
	}
	if kept, why := stillUseful(c, nil, &scheduler.Member{}, told, day); len(kept) != 1 {
		t.Errorf("without a plan: %v", why)
	}
}
