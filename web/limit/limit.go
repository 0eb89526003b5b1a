// Package limit holds back whoever asks too often: a bucket of turns for each
// source of requests, filled again with time.
package limit

import (
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// mostSources is how many sources are remembered at once.
const mostSources = 50_000

// Buckets give each source so many turns at once, and another each while.
type Buckets struct {
	mu       sync.Mutex
	bySource map[string]*rate.Limiter
	every    time.Duration
	burst    int
}

// New gives burst turns at once, at least one, and another every time that
// passes.
func New(every time.Duration, burst int) *Buckets {
	return &Buckets{bySource: map[string]*rate.Limiter{}, every: every, burst: burst}
}

// Take takes a turn of a source. It returns how long to wait for the next one
// where none is left, else zero.
func (b *Buckets) Take(source string) time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	bucket := b.bySource[source]
	if bucket == nil {
		if len(b.bySource) >= mostSources {
			b.forget()
		}
		bucket = rate.NewLimiter(rate.Every(b.every), b.burst)
		b.bySource[source] = bucket
	}
	if bucket.Allow() {
		return 0
	}
	return b.every
}

// forget makes room: sources with all their turns need no memory, and whoever
// asks from so many at once is not held back by it anyway.
func (b *Buckets) forget() {
	for source, bucket := range b.bySource {
		if bucket.Tokens() >= float64(b.burst) {
			delete(b.bySource, source)
		}
	}
	if len(b.bySource) >= mostSources {
		clear(b.bySource)
	}
}

// Proxies are the servers before this one, whose word counts about whom they
// asked for.
type Proxies []netip.Prefix

// Source says who asks: an address, of IPv6 the network of 64 bits that one
// customer has. A proxy names it last in X-Forwarded-For; what stands before
// that anybody can have written.
func (p Proxies) Source(r *http.Request) string {
	from := address(r.RemoteAddr)
	list := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(list) - 1; i >= 0 && p.has(from); i-- {
		next := address(strings.TrimSpace(list[i]))
		if !next.IsValid() {
			break
		}
		from = next
	}
	if from.Is6() {
		network, _ := from.Prefix(64) // never fails: there are 128
		return network.String()
	}
	return from.String()
}

func (p Proxies) has(a netip.Addr) bool {
	for _, network := range p {
		if network.Contains(a) {
			return true
		}
	}
	return false
}

// address reads an address, with or without a port; the zero Addr for neither.
func address(s string) netip.Addr {
	if with, err := netip.ParseAddrPort(s); err == nil {
		return with.Addr().Unmap().WithZone("")
	}
	a, err := netip.ParseAddr(strings.Trim(s, "[]"))
	if err != nil {
		return netip.Addr{}
	}
	return a.Unmap().WithZone("")
}
