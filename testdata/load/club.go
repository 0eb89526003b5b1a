package main

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5/pgtype"

	"pryday/scheduler"
)

// Every apiary has five hives of five boxes.
const (
	hivesEach = 5
	boxesEach = 5
)

// club says how many of what a made-up club has. Its rows follow from that and
// its id alone. Their ids count on from its own: apiary 12003 is the fourth of
// club 12, hive 120034 the fifth there.
type club struct {
	id                int64
	name              string
	apiaries, members int
}

func (c *club) member(i int) int64            { return c.id*1000 + int64(i) }
func (c *club) apiary(i int) int64            { return c.id*1000 + int64(i) }
func (c *club) hive(apiary, i int) int64      { return c.apiary(apiary)*10 + int64(i) }
func (c *club) box(apiary, hive, i int) int64 { return c.hive(apiary, hive)*10 + int64(i) }
func (c *club) keeper(apiary int) int64       { return c.member(apiary % c.members) }

// token is the calendar address of a member, in the length of true ones.
func (c *club) token(member int) string {
	return fmt.Sprintf("subscriberabcdefgh%014d", c.member(member))
}

// lots are the same for a thing whenever it is asked for.
func lots(of int64) *rand.Rand { return rand.New(rand.NewPCG(52, uint64(of))) }

func (c *club) persons(yield func(...any) bool) bool {
	for i := range c.members {
		if !yield(c.member(i), fmt.Sprintf("member%d@club%d.example", i, c.id)) {
			return false
		}
	}
	return true
}

func (c *club) membersOf(yield func(...any) bool) bool {
	for i := range c.members {
		role := scheduler.Keeper
		if i == 0 {
			role = scheduler.Organiser
		}
		if !yield(c.id, c.member(i), c.member(i), fmt.Sprintf("Member %d", i+1), string(role)) {
			return false
		}
	}
	return true
}

// apiariesOf lie around a place of the club's, within some 40 km.
func (c *club) apiariesOf(yield func(...any) bool) bool {
	l := lots(c.id)
	latitude, longitude := 46+8*l.Float64(), 6+9*l.Float64()
	for i := range c.apiaries {
		if !yield(c.id, c.apiary(i), fmt.Sprintf("Meadow %03d", i+1), latitude+.4*l.Float64(), longitude+.5*l.Float64(), float64(l.IntN(700)), "Europe/Berlin") {
			return false
		}
	}
	return true
}

func (c *club) keepers(yield func(...any) bool) bool {
	for i := range c.apiaries {
		if !yield(c.id, c.apiary(i), c.keeper(i), int32(1)) {
			return false
		}
	}
	return true
}

// hives have a new queen every other year or so.
func (c *club) hives(yield func(...any) bool) bool {
	for a := range c.apiaries {
		for h := range hivesEach {
			id := c.hive(a, h)
			l := lots(id)
			queens := []time.Time{} // nil would be null
			for year := 2024; year < 2027; year++ {
				if l.IntN(2) == 0 {
					queens = append(queens, day(year, 6, 1+l.IntN(28)))
				}
			}
			if !yield(c.id, id, c.apiary(a), fmt.Sprintf("Hive %d", h+1), queens) {
				return false
			}
		}
	}
	return true
}

func (c *club) boxes(yield func(...any) bool) bool {
	return c.eachBox(func(_, h, i int, id int64) bool {
		kind := "deep"
		if i > 1 {
			kind = "medium"
		}
		return yield(c.id, id, fmt.Sprintf("%d-%d", h+1, i+1), kind, setUp(id), id/10, int32(i+1))
	})
}

// openings are two or three a year, harder the longer a box stood and the more
// its colony glues; one in twelve was not written down.
func (c *club) openings(yield func(...any) bool) bool {
	return c.eachBox(func(a, _, i int, id int64) bool {
		l, gluing := lots(id), .6+.8*lots(id/10).Float64()
		last := setUp(id)
		for year := last.Year(); year < 2027; year++ {
			for _, month := range []time.Month{time.April, time.June, time.August} {
				on := day(year, month, 1+l.IntN(27))
				if !on.After(last) || month == time.June && i < 2 || l.IntN(12) == 0 {
					continue
				}
				stood := on.Sub(last).Hours() / 24
				last = on
				joint := min(4, max(0, int(gluing*stood/110+l.NormFloat64()*.7)))
				if !yield(c.id, uuidOf(l), id, on, int16(joint), int16(scheduler.NotTried), []string{"all", "part", "part", "none"}[l.IntN(4)], c.keeper(a)) {
					return false
				}
			}
		}
		return true
	})
}

func (c *club) links(yield func(...any) bool) bool {
	for i := range c.members {
		hash := sha256.Sum256([]byte(c.token(i)))
		kind := "member"
		if i == 0 {
			kind = "club" // the organiser's
		}
		if !yield(c.id, c.member(i), hash[:], kind, c.member(i), nil) {
			return false
		}
	}
	return true
}

func (c *club) eachBox(fn func(apiary, hive, i int, id int64) bool) bool {
	for a := range c.apiaries {
		for h := range hivesEach {
			for i := range boxesEach {
				if !fn(a, h, i, c.box(a, h, i)) {
					return false
				}
			}
		}
	}
	return true
}

func setUp(box int64) time.Time { return day(2022+int(box/10%4), time.April, 1+int(box%28)) }

func day(year int, month time.Month, d int) time.Time {
	return time.Date(year, month, d, 0, 0, 0, 0, time.UTC)
}

// uuidOf draws an identity of version 4 (RFC 9562, 5.4).
func uuidOf(l *rand.Rand) pgtype.UUID {
	var u [16]byte
	binary.BigEndian.PutUint64(u[:8], l.Uint64())
	binary.BigEndian.PutUint64(u[8:], l.Uint64())
	u[6], u[8] = u[6]&0x0f|0x40, u[8]&0x3f|0x80
	return pgtype.UUID{Bytes: u, Valid: true}
}
