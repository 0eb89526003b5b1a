package simulation

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
)

// Saved are the scores of a run, as a file keeps them for a later build to be
// held against: every policy on every club of either world.
type Saved struct {
	Tidy      *SavedWorld `json:"tidy,omitempty"`
	Imperfect *SavedWorld `json:"imperfect,omitempty"`
}

// SavedWorld are the scores in one world. Hours are not among them: they are
// counted anew with the hours of the rules of whoever reads.
type SavedWorld struct {
	Seeds    []int         `json:"seeds"`
	Size     Size          `json:"size"`
	Policies []SavedPolicy `json:"policies"`
}

// SavedPolicy is what one policy came to, by club in the order of the seeds.
type SavedPolicy struct {
	Policy string      `json:"policy"`
	Clubs  []SavedClub `json:"clubs"`
}

// SavedClub counts what was done in one club in the years that are scored.
type SavedClub struct {
	Boxes    int `json:"boxes"`
	Visits   int `json:"visits"`
	Openings int `json:"openings"`
	Hard     int `json:"hard"` // and not stuck
	Stuck    int `json:"stuck"`
	Lifted   int `json:"lifted"` // openings of boxes full of honey
}

// What is wrong with saved scores.
var (
	// ErrNotSaved: the file does not hold scores as Saved writes them.
	ErrNotSaved = errors.New("not a file of saved scores")
	// ErrOtherClubs: the scores are of other seeds or of clubs of another size.
	ErrOtherClubs = errors.New("the scores are of other clubs")
)

// Save returns the scores of clubs of a size.
func (r *Results) Save(size Size) *SavedWorld {
	w := &SavedWorld{Seeds: r.Seeds, Size: size}
	for i, p := range r.Policies {
		saved := SavedPolicy{Policy: p.Name}
		for _, s := range r.Scores[i] {
			saved.Clubs = append(saved.Clubs, SavedClub{s.boxes, s.count.visits, s.count.openings, s.count.hard, s.count.stuck, s.count.lifted})
		}
		w.Policies = append(w.Policies, saved)
	}
	return w
}

// ReadSaved reads what was saved; its errors are ErrNotSaved.
func ReadSaved(data []byte) (*Saved, error) {
	var s Saved
	if err := json.Unmarshal(data, &s); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotSaved, err)
	}
	if s.Tidy == nil && s.Imperfect == nil {
		return nil, fmt.Errorf("%w: neither tidy nor imperfect stands in it", ErrNotSaved)
	}
	for _, w := range []*SavedWorld{s.Tidy, s.Imperfect} {
		if w == nil {
			continue
		}
		for _, p := range w.Policies {
			if len(p.Clubs) != len(w.Seeds) {
				return nil, fmt.Errorf("%w: %q has %d clubs, and there are %d seeds", ErrNotSaved, p.Policy, len(p.Clubs), len(w.Seeds))
			}
		}
	}
	return &s, nil
}

// Fits returns ErrOtherClubs where the scores are not of these clubs.
func (w *SavedWorld) Fits(seeds []int, size Size) error {
	if !slices.Equal(w.Seeds, seeds) {
		return fmt.Errorf("%w: of seeds %s", ErrOtherClubs, spanOf(w.Seeds))
	}
	if w.Size != size {
		return fmt.Errorf("%w: of size %+v", ErrOtherClubs, w.Size)
	}
	return nil
}

func spanOf(seeds []int) string {
	if len(seeds) == 0 {
		return "none"
	}
	return fmt.Sprintf("%d to %d", slices.Min(seeds), slices.Max(seeds))
}

// scores returns the scores of those of the policies that were saved, with what
// the rules count hours by today.
func (w *SavedWorld) scores(policies []Policy) *Results {
	r := &Results{Seeds: w.Seeds}
	for _, p := range policies {
		i := slices.IndexFunc(w.Policies, func(s SavedPolicy) bool { return s.Policy == p.Name })
		if i < 0 {
			continue
		}
		var scores []Score
		for _, c := range w.Policies[i].Clubs {
			t := tally{visits: c.Visits, openings: c.Openings, hard: c.Hard, stuck: c.Stuck, lifted: c.Lifted}
			scores = append(scores, t.score(p.Name, c.Boxes, w.Size.Apiaries, w.Size.Years))
		}
		r.Policies, r.Scores = append(r.Policies, p), append(r.Scores, scores)
	}
	return r
}
