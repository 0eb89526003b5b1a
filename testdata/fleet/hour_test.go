package fleet

import (
	"fmt"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// TestAThousandClubsAtOneHour: where all have the same hour, what is owed is decided
// before, nothing goes out before, and all of it soon after.
func TestAThousandClubsAtOneHour(t *testing.T) {
	clubs, within := 3, 2*time.Minute
	if testrun.Soak() {
		clubs, within = 1000, 6*time.Minute
	}
	program := build(t)
	primary := newPrimary(t)
	found(t, primary, clubs, func(c *scheduler.Club) { c.Apiaries = c.Apiaries[:1]; c.Apiaries[0].Hives = c.Apiaries[0].Hives[:1] })
	zone, err := time.LoadLocation(noon())
	if err != nil {
		t.Fatal(err)
	}
	hour := time.Now().In(zone).Add(within).Truncate(time.Minute)
	var members int
	if err := primary.query(fmt.Sprintf(`WITH at AS (UPDATE member SET send_at = %d RETURNING 1) SELECT count(*) FROM at`, hour.Hour()*60+hour.Minute()), &members); err != nil {
		t.Fatal(err)
	}
	var fleet []*daemon
	for i := range 3 {
		d := newDaemon(t, fmt.Sprint("daemon ", i+1), program, "PRYDAY_DATABASE_URL="+primary.url("pryday_app", "pryday"))
		d.start()
		fleet = append(fleet, d)
	}
	for part := range 10 { // each of which has the patience of one wait
		least := clubs * (part + 1) / 10
		testrun.Until(t, fmt.Sprint(least, " clubs are planned"), func() bool { return primary.count(countPlanned) >= least })
	}
	planned := time.Until(hour)
	if planned < 0 {
		t.Fatalf("planning took until %s after the hour", -planned)
	}
	time.Sleep(time.Until(hour.Add(-5 * time.Second))) // nothing tells that the hour is near
	ahead, early := primary.count(countOwed), arrived(fleet)
	time.Sleep(time.Until(hour))
	if early > 0 {
		t.Errorf("%d mails went out before the hour", early)
	}
	testrun.Until(t, "all mail is sent", func() bool {
		return arrived(fleet) >= clubs && primary.count(countOwed) == 0 && primary.count(`SELECT count(*) FROM river_job WHERE state IN ('available', 'running', 'retryable', 'scheduled')`) == 0
	})
	took := time.Since(hour)
	t.Logf("%d clubs, %d members: planned %s before the hour, %d of %d mails decided 5 s before it, all sent %s after it by three daemons: %d, %d, %d",
		clubs, members, planned.Round(time.Second), ahead, arrived(fleet), took.Round(100*time.Millisecond), len(fleet[0].mail.All()), len(fleet[1].mail.All()), len(fleet[2].mail.All()))
	if testrun.Soak() && ahead == 0 {
		t.Error("nothing was decided ahead of the hour")
	}
	check(t, fleet, primary.count(`SELECT count(*) FROM message WHERE state = 'sent'`), 0, func(string, string, ...any) {})
	for _, d := range fleet {
		d.stop()
	}
}
