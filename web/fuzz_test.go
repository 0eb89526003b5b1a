package web

import (
	"net/url"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

// No cookie that was not sealed here says anything, and what was is said again
// as it was.
func FuzzCookie(f *testing.F) {
	now, key := time.Unix(1_800_000_000, 0), []byte("a key of thirty-two bytes or so.")
	good := seal(key, "goal", "/visit/1", now.Add(time.Hour))
	for _, hostile := range []string{"", ".", "..", good, good[:len(good)-1], good + "A", seal(key, "other", "x", now.Add(time.Hour)), seal(key, "goal", "late", now.Add(-time.Hour)), "\x00.\xff", "MQ.MQ"} {
		f.Add(hostile)
	}
	f.Fuzz(func(t *testing.T, value string) {
		if said := unseal([][]byte{key}, "goal", value, now); said != "" && value != good {
			t.Fatalf("%q says %q", value, said)
		}
		if said := unseal([][]byte{key}, "goal", seal(key, "goal", value, now.Add(time.Hour)), now); said != value {
			t.Fatalf("sealed %q, and it says %q", value, said)
		}
	})
}

// Whatever an address of the calendar's pages asks for, it is a day that there is,
// somebody of the club, or refused.
func FuzzCalendarAddress(f *testing.F) {
	for _, hostile := range []string{"", "person=all", "person=-1", "person=9223372036854775808&apiary=1", "month=2027-06", "month=0000-00", "month=99999-01", "year=1", "year=%00", "person=1;apiary=2", "%zz"} {
		f.Add(hostile)
	}
	club := quarryClub()
	f.Fuzz(func(t *testing.T, query string) {
		q, err := url.ParseQuery(query)
		if err != nil {
			return // answered by net/http with what could be read
		}
		who := &visitor{Membership: store.Membership{MemberID: 2, Role: scheduler.Keeper}}
		if of, err := askedWhose(q, club, who); err == nil {
			if of.person != 0 && club.Member(of.person) == nil || of.apiary != 0 && club.Apiary(of.apiary) == nil {
				t.Fatalf("%q asks for what there is not: %+v", query, of)
			}
		}
		for _, read := range []func(string) (scheduler.Date, error){askedMonth, askedYear} {
			for _, typed := range []string{q.Get("month"), q.Get("year")} {
				if d, err := read(typed); err == nil && (d < scheduler.MinDate || d > scheduler.MaxDate) {
					t.Fatalf("%q is %s", typed, d)
				}
			}
		}
	})
}
