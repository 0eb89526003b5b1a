package simulation

// Trouble is one thing that goes wrong in the imperfect world.
type Trouble struct {
	Name string // its key, for programs and in the catalogue of texts
	off  func(*Imperfect)
}

// Without returns the world without the trouble.
func (t Trouble) Without(a Imperfect) Imperfect {
	t.off(&a)
	return a
}

// Troubles lists what can be taken away, one at a time.
func Troubles() []Trouble {
	return []Trouble{
		{"unwritten", func(a *Imperfect) { a.Unwritten = 0 }},
		{"coarse", func(a *Imperfect) { a.Coarse = 0 }},
		{"bias", func(a *Imperfect) { a.KeeperSD, a.JudgingSD = 0, 0 }},
		{"queens-unnoted", func(a *Imperfect) { a.QueensUnnoted = 0 }},
		{"new-bees", func(a *Imperfect) { a.Dies, a.NewQueens = 0, 0 }},
		{"moves-unnoted", func(a *Imperfect) { a.MovesUnnoted = 0 }},
		{"moved", func(a *Imperfect) { a.Moved = 0 }},
		{"skipped", func(a *Imperfect) { a.Skipped = 0 }},
		{"rained-out", func(a *Imperfect) { a.RainedOut = 0 }},
		{"silent", func(a *Imperfect) { a.Silent = 0 }},
		{"late", func(a *Imperfect) { a.Late = 0 }},
		{"wrong-dates", func(a *Imperfect) { a.WrongDates = 0 }},
	}
}

// WithoutTroubles returns the world with every trouble taken away: other seals
// than the planner's own remain, and perfect records.
func (a Imperfect) WithoutTroubles() Imperfect {
	for _, t := range Troubles() {
		a = t.Without(a)
	}
	return a
}
