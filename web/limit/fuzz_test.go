package limit

import (
	"net/http"
	"net/netip"
	"testing"
)

// Whatever stands in X-Forwarded-For, a source is an address or a network, and of
// who comes past the proxies it is where they come from.
func FuzzSource(f *testing.F) {
	for _, hostile := range []string{
		"", ",", "198.51.100.7", "198.51.100.7, 127.0.0.1", "::ffff:198.51.100.7", "[2001:db8::1]:443", "fe80::1%eth0", "999.1.1.1", "\x00", "unknown", "1.2.3.4:99999",
		"198.51.100.7,,,,", "[[::1]]", "for=198.51.100.7",
	} {
		f.Add(hostile)
	}
	proxies := Proxies{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")}
	f.Fuzz(func(t *testing.T, said string) {
		source := func(from string) string {
			return proxies.Source(&http.Request{RemoteAddr: from, Header: http.Header{"X-Forwarded-For": {said}}})
		}
		if got := source("198.51.100.9:1234"); got != "198.51.100.9" {
			t.Fatalf("a stranger chose to be %q", got)
		}
		got := source("127.0.0.1:1234")
		if _, err := netip.ParseAddr(got); err == nil {
			return
		}
		if p, err := netip.ParsePrefix(got); err != nil || p.Bits() != 64 {
			t.Fatalf("%q is no source", got)
		}
	})
}
