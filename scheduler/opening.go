package scheduler

import "sort"

// Opening is one box opened on one day. Rows are never changed: a correction
// is a new row that names the one it supersedes.
type Opening struct {
	ID         string // UUID made by whoever recorded it
	Supersedes string // ID of the opening that this one corrects; empty for none
	Void       bool   // a correction that takes the opening back
	On         Date
	Joint      Difficulty // of the joint of the box
	Frames     Difficulty // of the worst frame, or NotTried
	LeftShut   bool       // the box stayed shut: its seal was not broken
	Scraped    Scraped    // empty means none
	Gaps       []Gap
	Condition  []Condition
	Note       string
	By         int64 // member id; 0 when not known
}

// Difficulty returns how hard the opening was: the harder of its two parts.
func (o *Opening) Difficulty() Difficulty { return max(o.Joint, o.Frames) }

// Effective returns the openings that count: those not superseded and not
// void, in date order and, within a day, in the order recorded. A correction
// stands in the order where what it corrects stood.
func Effective(all []Opening) []Opening {
	superseded := map[string]bool{}
	for i := range all {
		if all[i].Supersedes != "" {
			superseded[all[i].Supersedes] = true
		}
	}
	out := make([]Opening, 0, len(all))
	for i := range all {
		if !all[i].Void && (all[i].ID == "" || !superseded[all[i].ID]) {
			out = append(out, all[i])
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].On < out[j].On })
	return out
}
