package scheduler

import "math"

// span is the part of the line of ln(k A) + e that a grade stands for.
type span struct{ low, high float64 }

// spanOf returns the span of a difficulty from Loose to Stuck, written by somebody
// who tells all five apart.
func spanOf(hard Difficulty) span {
	s := span{math.Inf(-1), math.Inf(1)}
	if hard > Loose {
		s.low = lnThresholds[min(hard, Stuck)-1]
	}
	if hard < Stuck {
		s.high = lnThresholds[hard]
	}
	return s
}

// words are which difficulties one person has written of the boxes of an apiary.
// Many have three words only, easy, so-so and stuck, whatever the form offers (common
// practice, no source).
type words struct {
	openings int
	used     [Stuck + 1]bool
}

// fewWords is of how many openings somebody who never wrote "light" has three
// words only; a box in three is light where it is opened in time, so that it hardly
// is chance (assumed).
const fewWords = 8

// span returns what a difficulty stands for in somebody's words: whoever never
// writes "light" calls it loose, and with one word for firm and hard means both.
func (w *words) span(hard Difficulty) span {
	s := spanOf(hard)
	if w == nil || w.openings < fewWords || w.used[Light] {
		return s
	}
	switch {
	case hard == Loose:
		s.high = spanOf(Light).high
	case hard == Firm && !w.used[Hard]:
		s.high = spanOf(Hard).high
	case hard == Hard && !w.used[Firm]:
		s.low = spanOf(Firm).low
	}
	return s
}

// wordsOf returns the words of whoever made an opening of a box, as far as
// the records of the apiary go where it stands at present; nil on none. Those of
// whom no name is known count as one.
func (r *replay) wordsOf(b *replayBox, o *Opening) *words {
	if b.present == none {
		return nil
	}
	apiary := r.hives[b.present].apiaryID
	if apiary != r.wordsAt {
		r.wordsAt, r.words = apiary, r.allWords[apiary]
		if r.words == nil {
			r.words = r.listen(apiary)
			if r.allWords == nil {
				r.allWords = map[int64]map[int64]*words{}
			}
			r.allWords[apiary] = r.words
		}
	}
	return r.words[o.OpenedBy().Member]
}

// listen counts who has written what of the boxes that stand in an apiary.
func (r *replay) listen(apiary int64) map[int64]*words {
	out := map[int64]*words{}
	var order []int32
	for i := range r.boxes {
		b := &r.boxes[i]
		if b.present == none || r.hives[b.present].apiaryID != apiary {
			continue
		}
		order = effective(b.box.Openings, order[:0])
		for _, k := range order {
			o := &b.box.Openings[k]
			if o.On > r.until || o.Difficulty() < Loose {
				continue
			}
			who := o.OpenedBy().Member
			w := out[who]
			if w == nil {
				w = &words{}
				out[who] = w
			}
			w.openings++
			w.used[min(o.Difficulty(), Stuck)] = true
		}
	}
	return out
}
