package notify_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"pryday/notify"
)

func TestRetryDelay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		message := rapid.Int64().Draw(t, "message")
		n := rapid.IntRange(1, 60).Draw(t, "attempts")
		d := notify.RetryDelay(n, message)
		if d != notify.RetryDelay(n, message) {
			t.Fatal("the delay of one message is not the same each time")
		}
		if d < 108*time.Second || d > 396*time.Minute {
			t.Fatalf("delay %s after %d attempts", d, n)
		}
		if n < 7 && notify.RetryDelay(n+1, message) <= d {
			t.Fatalf("the delay does not grow after %d attempts", n)
		}
	})
}

// TestRetriesSpanDays: RFC 5321, section 4.5.4.1: "the give-up time generally
// needs to be at least 4-5 days", with more than one attempt in the first hour.
func TestRetriesSpanDays(t *testing.T) {
	var at time.Duration
	attempts, firstHour := 1, 1
	for at < notify.GiveUpAfter {
		at += notify.RetryDelay(attempts, 7)
		attempts++
		if at < time.Hour {
			firstHour++
		}
	}
	if firstHour < 3 || attempts < 15 || attempts > 60 {
		t.Errorf("%d attempts, %d of them in the first hour", attempts, firstHour)
	}
}

func TestRetriesSpread(t *testing.T) {
	seen := map[time.Duration]bool{}
	for m := range int64(200) {
		seen[notify.RetryDelay(1, m).Truncate(time.Second)] = true
	}
	if len(seen) < 15 {
		t.Errorf("200 messages return at only %d different seconds", len(seen))
	}
}
