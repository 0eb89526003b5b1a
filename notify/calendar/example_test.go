package calendar_test

import (
	"fmt"
	"strings"
	"time"

	"pryday/notify/calendar"
	"pryday/scheduler"
)

func ExampleRender() {
	body, err := calendar.Render(calendar.Feed{
		Name: "Hollow Lane Bees",
		Events: []calendar.Event{{
			UID: "7c1e", On: scheduler.NewDate(2027, time.May, 8), ChangedAt: time.Date(2027, time.April, 20, 6, 0, 0, 0, time.UTC),
			Status: calendar.Confirmed, Summary: "Orchard: open 2 boxes",
		}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, line := range strings.Split(string(body), "\r\n") {
		if strings.HasPrefix(line, "DTSTART") || strings.HasPrefix(line, "SUMMARY") || strings.HasPrefix(line, "UID") {
			fmt.Println(line)
		}
	}
	// Output:
	// DTSTART;VALUE=DATE:20270508
	// SUMMARY:Orchard: open 2 boxes
	// UID:7c1e@pryday
}
