package main

import (
	"encoding/json"
	"os"

	"pryday/scheduler/simulation"
)

// read reads the file that the planner is compared with, and refuses one of
// other clubs before anything is run.
func (s *scored) read(c *simulateCmd, seeds []int, size simulation.Size) error {
	s.saved = &simulation.Saved{}
	if c.Against == "" {
		return nil
	}
	data, err := os.ReadFile(c.Against)
	if err != nil {
		return err
	}
	if s.saved, err = simulation.ReadSaved(data); err != nil {
		return complain("command.error.against-file", c.Against, err)
	}
	for world, saved := range map[string]*simulation.SavedWorld{"tidy": s.saved.Tidy, "imperfect": s.saved.Imperfect} {
		if c.World != world && c.World != "both" {
			continue
		}
		if saved == nil {
			return complain("command.error.against-world", c.Against, world)
		}
		if err := saved.Fits(seeds, size); err != nil {
			return complain("command.error.against-file", c.Against, err)
		}
	}
	return nil
}

// save writes the scores into a new file.
func (s *scored) save(file string, size simulation.Size) error {
	var saved simulation.Saved
	if s.tidy != nil {
		saved.Tidy = s.tidy.Save(size)
	}
	if s.imperfect != nil {
		saved.Imperfect = s.imperfect.Save(size)
	}
	data, err := json.Marshal(&saved)
	if err != nil {
		return err
	}
	return writeNew(file, append(data, '\n'))
}

// against prints how a world's planner compares with a saved one, if there is one.
func (s *scored) against(now *simulation.Results, saved *simulation.SavedWorld) error {
	if saved == nil {
		return nil
	}
	return now.PrintAgainst(s.term.out, &s.term.say, saved, s.before)
}
