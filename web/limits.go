package web

import (
	"math"
	"net/http"
	"strconv"
	"time"

	"pryday/web/limit"
)

// limits bound what one source can make the service do without an account, or
// with files. A whole club may sit behind one address, on the evening on which
// all sign in.
type limits struct {
	signIns   *limit.Buckets // mails asked for, passkeys and addresses tried
	signInsOf *limit.Buckets // mails asked for, of a source and an address together
	setUps    *limit.Buckets
	uploads   *limit.Buckets
	places    *limit.Buckets // asked for while one types
}

func newLimits() limits {
	return limits{
		signIns:   limit.New(5*time.Second, 200),
		signInsOf: limit.New(10*time.Minute, 4),
		setUps:    limit.New(10*time.Second, 20),
		uploads:   limit.New(20*time.Second, 20),
		places:    limit.New(time.Second/2, 200),
	}
}

// limited answers who asked too often instead of h, and says when to come back.
func (s *Server) limited(b *limit.Buckets, h handler) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		if wait := b.Take(s.cfg.Proxies.Source(r)); wait > 0 {
			return tooOften(w, wait)
		}
		return h(w, r)
	}
}

// limitedMember is limited for pages of members.
func (s *Server) limitedMember(b *limit.Buckets, h memberHandler) memberHandler {
	return func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		return s.limited(b, func(w http.ResponseWriter, r *http.Request) error { return h(w, r, who) })(w, r)
	}
}

func tooOften(w http.ResponseWriter, wait time.Duration) error {
	seconds := int(math.Ceil(wait.Seconds()))
	w.Header().Set("Retry-After", strconv.Itoa(seconds))
	return newProblem(http.StatusTooManyRequests, "problem.too-often", seconds)
}
