package scheduler

import (
	"encoding/binary"
	"hash"
	"hash/fnv"
	"math"
	"slices"
)

// ratesVersion counts the ways in which Replay has made rates of records. What was saved
// by another is worked out anew; TestRatesVersion says when to count on.
const ratesVersion = 2

// RateSources sums up what the rates of each apiary of c come from beside openings, as
// the records stand after a plan of today, which ended the visits past, and the states
// that hold those rates. Whoever records an opening works the states out anew, so that
// they stand for the openings. An apiary whose rates time alone would change is left out:
// something is dated later or hangs on the day itself. Openings must be there in full for that, or
// else be none that is new.
func RateSources(c *Club, past []Visit, states []BoxState, today Date) map[int64]int64 {
	ended := make(map[int64]*Visit, len(past))
	for i := range past {
		ended[past[i].ID] = &past[i]
	}
	visits, movedTo := map[int64][]*Visit{}, c.movedBoxes()
	for i := range c.Visits {
		v := &c.Visits[i]
		if after := ended[v.ID]; after != nil {
			v = after
		}
		if v.Status != Done {
			continue
		}
		visits[v.ApiaryID] = append(visits[v.ApiaryID], v)
		for _, b := range v.Boxes {
			if id := movedTo[b.BoxID]; id != 0 && id != v.ApiaryID && !slices.Contains(visits[id], v) {
				visits[id] = append(visits[id], v)
			}
		}
	}
	places := make(map[int64]Place, len(c.Apiaries)+len(c.Former))
	for _, list := range [][]Apiary{c.Former, c.Apiaries} {
		for i := range list {
			places[list[i].ID] = list[i].Place()
		}
	}
	stored, at := storedBoxes(c), statesByBox(states)
	out := make(map[int64]int64, len(c.Apiaries))
	s := sources{Hash64: fnv.New64a(), today: today}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		s.Reset()
		s.later = false
		s.num(ratesVersion)
		for m := range c.Members { // whose words openings are in: of those who left nobody knows
			s.num(c.Members[m].ID)
		}
		s.place(places[a.ID])
		for h := range a.Hives {
			s.hive(&a.Hives[h], places)
		}
		for _, b := range stored[a.ID] {
			s.box(b)
		}
		for _, v := range visits[a.ID] {
			s.visit(v)
		}
		for h := range a.Hives {
			for b := range a.Hives[h].Boxes {
				if state := at[a.Hives[h].Boxes[b].ID]; state != nil {
					s.state(state)
				}
			}
		}
		if !s.later {
			out[a.ID] = int64(s.Sum64())
		}
	}
	return out
}

// statesByBox finds the state of each box.
func statesByBox(states []BoxState) map[int64]*BoxState {
	out := make(map[int64]*BoxState, len(states))
	for i := range states {
		out[states[i].BoxID] = &states[i]
	}
	return out
}

// movedBoxes finds the apiaries of boxes whose hive came from another.
func (c *Club) movedBoxes() map[int64]int64 {
	var out map[int64]int64
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		for h := range a.Hives {
			if a.Hives[h].firstPlace(0) == 0 {
				continue
			}
			for b := range a.Hives[h].Boxes {
				if out == nil {
					out = map[int64]int64{}
				}
				out[a.Hives[h].Boxes[b].ID] = a.ID
			}
		}
	}
	return out
}

// storedBoxes finds the boxes on no hive that once stood in each apiary of c.
func storedBoxes(c *Club) map[int64][]*Box {
	if len(c.Spare) == 0 {
		return nil
	}
	apiaryOf := c.apiariesOfHives()
	out := map[int64][]*Box{}
	for i := range c.Spare {
		b := &c.Spare[i]
		for _, p := range b.Places {
			if id, ok := apiaryOf[p.HiveID]; ok && p.Where == OnHive && !slices.Contains(out[id], b) {
				out[id] = append(out[id], b)
			}
		}
	}
	return out
}

// apiariesOfHives finds the apiary at which each hive stands.
func (c *Club) apiariesOfHives() map[int64]int64 {
	out := map[int64]int64{}
	for i := range c.Apiaries {
		for h := range c.Apiaries[i].Hives {
			out[c.Apiaries[i].Hives[h].ID] = c.Apiaries[i].ID
		}
	}
	return out
}

// sources sums up records (FNV-1a).
type sources struct {
	hash.Hash64
	today Date
	later bool // there are rates among them that change with the days
	bytes [8]byte
}

func (s *sources) num(n int64) {
	binary.LittleEndian.PutUint64(s.bytes[:], uint64(n))
	s.Write(s.bytes[:])
}

func (s *sources) float(x float64) { s.num(int64(math.Float64bits(x))) }

func (s *sources) word(w string) {
	s.num(int64(len(w)))
	s.Write([]byte(w))
}

func (s *sources) day(d Date) {
	s.later = s.later || d > s.today
	s.num(int64(d))
}

func (s *sources) days(all []Date) {
	s.num(int64(len(all)))
	for _, d := range all {
		s.day(d)
	}
}

func (s *sources) place(p Place) {
	s.float(p.Latitude)
	s.float(p.ElevationM)
	s.num(int64(p.ShiftDays))
	s.word(string(p.Region))
}

func (s *sources) hive(h *Hive, places map[int64]Place) {
	s.num(h.ID)
	s.days(h.Requeened)
	s.num(int64(len(h.Events)))
	for i := range h.Events {
		e := &h.Events[i]
		s.day(e.On)
		s.word(string(e.What))
		s.word(string(e.Queen))
		s.num(e.OtherID)
		s.num(e.FromApiary)
		if e.What == Moved {
			s.place(places[e.FromApiary])
		}
	}
	s.num(int64(len(h.Boxes)))
	for i := range h.Boxes {
		s.box(&h.Boxes[i])
	}
}

func (s *sources) box(b *Box) {
	s.num(b.ID)
	s.day(b.SetUpOn)
	s.day(b.GuessedOn)
	s.days(b.Repaired)
	s.num(int64(len(b.Places)))
	for _, p := range b.Places {
		s.day(p.From)
		s.word(string(p.Where))
		s.num(p.HiveID)
		s.num(int64(p.Position))
	}
	for i := range b.Openings {
		s.later = s.later || b.Openings[i].On > s.today
	}
	// Of a box without any day the rates begin on the day of the run.
	s.later = s.later || b.SetUpOn == 0 && (len(b.Places) == 0 || b.Places[0].From == 0)
}

func (s *sources) visit(v *Visit) {
	if v.On < s.today-rememberedDays {
		return
	}
	s.num(v.ID)
	s.day(v.On)
	s.num(int64(len(v.Boxes)))
	for i := range v.Boxes {
		s.num(v.Boxes[i].BoxID)
		if has(v.NotOpened, v.Boxes[i].BoxID) {
			s.num(-1)
		}
	}
}

func (s *sources) state(b *BoxState) {
	for _, n := range []int64{b.BoxID, b.HiveID, int64(b.LastHard), int64(b.Openings)} {
		s.num(n)
	}
	o := &b.Outlook
	for _, d := range []Date{b.Since, b.LastOpened, b.LastTried, b.ShutOn, b.ListedOn, o.Since, o.RatedOn} {
		s.num(int64(d))
	}
	s.float(o.Left)
	s.float(o.Mean)
	s.float(o.Variance)
	for i := range o.ages.n {
		s.float(o.ages.left[i])
		s.float(o.ages.weight[i])
	}
}
