package scheduler

// usedBefore are the days before a day on which a box may last have been opened of
// which nobody knows since when it stands, and how likely each is: it may have been
// looked into a few weeks before, in the season before, a year or two ago (assumed;
// simulated with notebooks of half a year and of a year, see pryday simulate --notebook).
var usedBefore = [mostAges]struct {
	days   Date
	weight float64
}{{40, 0.3}, {120, 0.2}, {300, 0.3}, {600, 0.2}}

// beginUsed gives b a seal of several ages where nobody knows how long it was in use:
// on the day of the guess, or on that before its first opening on record if that comes
// first. Somebody may have said roughly when it was last opened: then that is so.
func (r *replay) beginUsed(b *replayBox, order []int32, until Date) {
	day, guess := b.box.GuessedOn, b.box.SetUpOn == GuessedDay(b.box.GuessedOn)
	if len(order) > 0 {
		first := b.box.Openings[order[0]].On
		day, guess = min(day, first-1), guess || b.box.SetUpOn >= first
	}
	day = min(day, until)
	moved := len(b.places) > 1 && b.places[1].From <= day
	if b.box.GuessedOn == 0 || !guess || moved || b.hives[0] == none || b.places[0].From > day+1 {
		return
	}
	s := r.hives[b.hives[0]].season
	if s == nil {
		return
	}
	b.seal.From, b.seal.Since, b.own.on = min(b.seal.From, day), day, day
	a := &b.seal.maybe
	a.n = mostAges
	for i, before := range usedBefore {
		a.left[i], a.weight[i] = s.SealingDays(day-before.days, day), before.weight
	}
	b.seal.Left = a.mean()
}
