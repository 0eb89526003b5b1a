package scheduler

import "pryday/scheduler/text"

// Period is a span of days, both ends included, and why. A zero Until means that
// the end is not known yet.
type Period struct {
	From, Until Date
	Reason      string // what a person wrote; empty for nothing
	After       Fate   // the step of a colony after which its hive is left alone; empty for none
}

// Contains reports whether d lies in p.
func (p Period) Contains(d Date) bool {
	return d >= p.From && (p.Until == 0 || d <= p.Until)
}

// Why says the reason: "young queen after a swarm", with what a person wrote
// behind it; the zero Text when nothing is noted.
func (p Period) Why() text.Text { return noted(p.After, p.Reason) }

func noted(after Fate, words string) text.Text {
	switch {
	case after == "" && words == "":
		return text.Text{}
	case after == "":
		return text.New("form.said", words)
	case words == "":
		return text.New("period.after." + string(after))
	}
	return text.New("alone.noted", text.New("period.after."+string(after)), words)
}
