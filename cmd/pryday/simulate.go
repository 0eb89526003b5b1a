package main

import (
	"fmt"
	"io/fs"
	"os"

	"pryday/scheduler"
	"pryday/scheduler/simulation"
)

type simulateCmd struct {
	Seeds     int     `default:"20" help:"How many made-up clubs, 1 to 1000; each policy keeps all of them."`
	FirstSeed int     `default:"3001" help:"The number of the first club; the others follow it."`
	World     string  `enum:"both,tidy,imperfect" default:"both" help:"both, tidy (perfect records) or imperfect (records as clubs keep them)."`
	Troubles  bool    `help:"Also take the troubles of the imperfect world away, one at a time."`
	Apiaries  int     `default:"4" help:"In each club, 1 to 100."`
	Hives     int     `default:"6" help:"In each apiary, 1 to 100."`
	Boxes     int     `default:"3" help:"On a hive on average, 1 to 8."`
	Years     int     `default:"8" help:"That are scored, 1 to 40."`
	Replaced  float64 `name:"new-colonies" default:"0" help:"Share of hives that get an unrelated colony each year in the tidy world, 0 to 1; a harder test."`
	Notebook  int     `default:"0" placeholder:"DAYS" help:"The clubs of the imperfect world begin with a notebook of so many days and do not know since when their boxes stand, and their first year counts, 0 to 900; 0 for clubs that wrote everything down from the start."`
	Rules     string  `placeholder:"FILE" help:"Rules of the planner, a file as rules show prints it; the defaults when left out. Each policy keeps its odds limit, and hours are counted as ever."`
	Save      string  `placeholder:"FILE" help:"Also write what every policy came to on every club into a new file."`
	Against   string  `placeholder:"FILE" help:"Compare the planner with that of the build that saved a file, on the same clubs; text only."`
	Format    string  `enum:"text,json" default:"text" help:"text or json; there the imperfect world's policies begin with imperfect-."`
}

func (c *simulateCmd) Run(term *terminal) error {
	if err := c.check(); err != nil {
		return err
	}
	size := simulation.DefaultSize()
	size.Apiaries, size.Hives, size.Boxes, size.Years, size.Notebook = c.Apiaries, c.Hives, c.Boxes, c.Years, c.Notebook
	seeds := make([]int, c.Seeds)
	for i := range seeds {
		seeds[i] = c.FirstSeed + i
	}
	s := scored{term: term, before: c.Against}
	if err := s.read(c, seeds, size); err != nil {
		return err
	}
	rules := scheduler.DefaultRules()
	if c.Rules != "" {
		var err error
		if rules, err = readRules(c.Rules); err != nil {
			return err
		}
	}
	assumptions, imperfect := simulation.DefaultAssumptions(), simulation.DefaultImperfect()
	assumptions.Replaced = c.Replaced
	if c.World != "imperfect" {
		s.tidy = simulation.Run(simulation.WithRules(simulation.StandardPolicies(), rules), seeds, size, assumptions)
	}
	if c.World != "tidy" {
		s.imperfect = simulation.RunImperfect(simulation.WithRules(simulation.ImperfectPolicies(), rules), seeds, size, imperfect)
	}
	if c.Troubles {
		s.costs = simulation.Costs(rules, seeds, size, imperfect)
	}
	if c.Save != "" {
		if err := s.save(c.Save, size); err != nil {
			return err
		}
	}
	if c.Format == "json" {
		return writeJSON(term, s.rows())
	}
	return s.print()
}

func (c *simulateCmd) check() error {
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
		{"--notebook", c.Notebook, 0, 900},
	} {
		if f.value < f.least || f.value > f.most {
			return outside(f.flag, f.value, f.least, f.most)
		}
	}
	if _, err := os.Lstat(c.Save); c.Save != "" && err == nil {
		return &fs.PathError{Op: "write", Path: c.Save, Err: fs.ErrExist}
	}
	if c.Against != "" && c.Format == "json" {
		return complain("command.error.against-json")
	}
	if !(c.Replaced >= 0 && c.Replaced <= 1) {
		return complain("command.error.between", "--new-colonies", fmt.Sprint(c.Replaced), "0", "1")
	}
	return nil
}

// scored is what was asked for; nil where it was not.
type scored struct {
	term            *terminal
	tidy, imperfect *simulation.Results
	costs           []simulation.Cost

	before string            // the file of saved
	saved  *simulation.Saved // by another build
}

// rows are the scores for programs.
func (s *scored) rows() []simulation.Score {
	var out []simulation.Score
	if s.tidy != nil {
		out = s.tidy.Rows()
	}
	if s.imperfect != nil {
		for _, row := range s.imperfect.Rows() {
			row.Policy = "imperfect-" + row.Policy
			out = append(out, row)
		}
	}
	for _, c := range s.costs {
		row := c.Planner
		row.Policy = "imperfect-without-" + c.Without + "-" + row.Policy
		if c.Without != "" { // with all troubles it stands above
			out = append(out, row)
		}
	}
	return out
}

// print writes the tables for people, a line between two worlds.
func (s *scored) print() error {
	if s.tidy != nil {
		fmt.Fprintln(s.term.out, s.term.say.Say("command.simulate.tidy"))
		if err := s.tidy.Print(s.term.out, &s.term.say); err != nil {
			return err
		}
		if err := s.against(s.tidy, s.saved.Tidy); err != nil {
			return err
		}
	}
	if s.imperfect != nil {
		fmt.Fprintf(s.term.out, "\n%s\n", s.term.say.Say("command.simulate.imperfect"))
		if err := s.imperfect.PrintImperfect(s.term.out, &s.term.say); err != nil {
			return err
		}
		if err := s.against(s.imperfect, s.saved.Imperfect); err != nil {
			return err
		}
	}
	if s.costs != nil {
		fmt.Fprintln(s.term.out)
		return simulation.PrintCosts(s.term.out, &s.term.say, s.costs)
	}
	return nil
}
