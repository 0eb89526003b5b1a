package limit

import (
	"fmt"
	"net/http/httptest"
	"net/netip"
	"testing"
	"testing/synctest"
	"time"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

func TestBuckets(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := New(10*time.Second, 3)
		for range 3 {
			if wait := b.Take("a"); wait != 0 {
				t.Fatalf("told to wait %s with turns left", wait)
			}
		}
		if wait := b.Take("a"); wait != 10*time.Second {
			t.Errorf("told to wait %s, want 10s", wait)
		}
		if wait := b.Take("b"); wait != 0 {
			t.Error("one source uses up another's turns")
		}
		time.Sleep(10 * time.Second)
		if b.Take("a") != 0 || b.Take("a") == 0 {
			t.Error("ten seconds bring one turn")
		}
	})
}

func TestMemoryOfSourcesIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := New(time.Minute, 1)
		for i := range mostSources - 1 {
			b.Take(fmt.Sprint(i))
		}
		time.Sleep(time.Minute)
		b.Take("late")
		b.Take("new")
		if len(b.bySource) != 2 || b.Take("late") == 0 {
			t.Errorf("%d sources are remembered, want the two without turns", len(b.bySource))
		}
		for i := range mostSources + 100 {
			b.Take(fmt.Sprint(i))
		}
		if len(b.bySource) > mostSources {
			t.Errorf("%d sources are remembered", len(b.bySource))
		}
	})
}

func TestSource(t *testing.T) {
	near := Proxies{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128"), netip.MustParsePrefix("10.0.0.0/8")}
	for name, tt := range map[string]struct {
		from string
		said []string
		want string
	}{
		"nobody between":       {"192.0.2.7:4000", nil, "192.0.2.7"},
		"a stranger lies":      {"192.0.2.7:4000", []string{"198.51.100.1"}, "192.0.2.7"},
		"a proxy":              {"127.0.0.1:4000", []string{"192.0.2.7"}, "192.0.2.7"},
		"through a proxy lies": {"127.0.0.1:4000", []string{"198.51.100.1, 192.0.2.7"}, "192.0.2.7"},
		"two proxies":          {"127.0.0.1:4000", []string{"198.51.100.1, 192.0.2.7", "10.1.1.1"}, "192.0.2.7"},
		"a proxy says nothing": {"[::1]:4000", nil, "::/64"},
		"a proxy says rubbish": {"127.0.0.1:4000", []string{"192.0.2.7, unknown"}, "127.0.0.1"},
		"with a port":          {"127.0.0.1:4000", []string{"192.0.2.7:99"}, "192.0.2.7"},
		"IPv6":                 {"[2001:db8:1:2:3:4:5:6]:4000", nil, "2001:db8:1:2::/64"},
		"IPv4 in IPv6":         {"[::ffff:192.0.2.7]:4000", nil, "192.0.2.7"},
		"a socket":             {"@", nil, "invalid IP"},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = tt.from
		r.Header["X-Forwarded-For"] = tt.said
		if got := near.Source(r); got != tt.want {
			t.Errorf("%s: %s, want %s", name, got, tt.want)
		}
	}
}
