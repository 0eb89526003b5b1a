package notify

import (
	"hash/fnv"
	"time"
)

// The delays before the next attempt at a message, by how many failed. The
// last one repeats. RFC 5321, section 4.5.4.1 asks for some half an hour at
// least and four to five days in all; the short ones first get through
// greylisting, and a reminder is worth little after hours.
var retryDelays = []time.Duration{
	2 * time.Minute, 5 * time.Minute, 15 * time.Minute, time.Hour, 2 * time.Hour, 4 * time.Hour, 6 * time.Hour,
}

// longestDelay is more than any job is put off by: the last delay and what is
// spread of it.
var longestDelay = retryDelays[len(retryDelays)-1] * 5 / 4

// GiveUpAfter is how long a message is tried.
const GiveUpAfter = 5 * 24 * time.Hour

// RetryDelay returns how long to wait after an attempt failed; attempts counts
// it. A fifth of the delay is spread over the messages, the same each time for
// one message, so that those that failed together do not all return together.
func RetryDelay(attempts int, message int64) time.Duration {
	d := retryDelays[min(max(attempts, 1), len(retryDelays))-1]
	h := fnv.New32a()
	for i := range 8 {
		h.Write([]byte{byte(message >> (8 * i))})
	}
	h.Write([]byte{byte(attempts)})
	return d - d/10 + time.Duration(float64(d)/5*float64(h.Sum32())/(1<<32))
}
