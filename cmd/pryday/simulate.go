package main

import (
	"fmt"

	"pryday/scheduler/simulation"
)

type simulateCmd struct {
	Seeds     int     `default:"40" help:"How many made-up clubs, 1 to 1000; each policy keeps all of them."`
	FirstSeed int     `default:"3001" help:"The number of the first club; the others follow it."`
	Apiaries  int     `default:"4" help:"In each club, 1 to 100."`
	Hives     int     `default:"6" help:"In each apiary, 1 to 100."`
	Boxes     int     `default:"3" help:"On a hive on average, 1 to 8."`
	Years     int     `default:"8" help:"That are scored, 1 to 40."`
	Replaced  float64 `name:"new-colonies" default:"0" help:"Share of hives that get an unrelated colony each year, 0 to 1; a harder test."`
	Format    string  `enum:"text,json" default:"text" help:"text or json."`
}

func (c *simulateCmd) Run(term *terminal) error {
	for _, f := range []struct {
		flag               string
		value, least, most int
	}{
		{"--seeds", c.Seeds, 1, 1000},
		{"--first-seed", c.FirstSeed, 0, 1 << 30},
		{"--apiaries", c.Apiaries, 1, 100},
		{"--hives", c.Hives, 1, 100},
		{"--boxes", c.Boxes, 1, 8},
		{"--years", c.Years, 1, 40},
	} {
		if f.value < f.least || f.value > f.most {
			return outside(f.flag, f.value, f.least, f.most)
		}
	}
	if !(c.Replaced >= 0 && c.Replaced <= 1) {
		return complain("command.error.between", "--new-colonies", fmt.Sprint(c.Replaced), "0", "1")
	}
	size := simulation.DefaultSize()
	size.Apiaries, size.Hives, size.Boxes, size.Years = c.Apiaries, c.Hives, c.Boxes, c.Years
	seeds := make([]int, c.Seeds)
	for i := range seeds {
		seeds[i] = c.FirstSeed + i
	}
	assumptions := simulation.DefaultAssumptions()
	assumptions.Replaced = c.Replaced
	results := simulation.Run(simulation.StandardPolicies(), seeds, size, assumptions)
	if c.Format == "json" {
		return writeJSON(term, results.Rows())
	}
	return results.Print(term.out, &term.say)
}
