package main

import (
	"encoding/json"
	"fmt"
	"os"
	"text/tabwriter"

	"pryday/scheduler"
	"pryday/store/records"
)

type seasonCmd struct {
	Latitude  float64          `required:"" help:"Degrees, north positive, -90 to 90."`
	Longitude *float64         `help:"Degrees, east positive, -180 to 180; the region follows from both. Left out: continental."`
	Elevation float64          `default:"0" help:"Metres above sea level, -430 to 6000."`
	Region    scheduler.Region `enum:",continental,western-europe,southern-europe,southern-maritime" default:"" help:"Whose stage dates hold: continental, western-europe, southern-europe or southern-maritime. Left out: those of where the place lies."`
	Year      int              `help:"The year in which build-up starts; this year when left out."`
	Rules     string           `type:"existingfile" placeholder:"FILE" help:"A rules file whose stage dates apply."`
	Format    string           `enum:"text,json" default:"text" help:"text or json."`
}

// seasonRow is one stage of the printed season.
type seasonRow struct {
	Stage  string         `json:"stage"`
	Starts scheduler.Date `json:"starts"`
}

func (c *seasonCmd) Run(term *terminal) error {
	if c.Latitude < -90 || c.Latitude > 90 {
		return complain("command.error.latitude", fmt.Sprint(c.Latitude))
	}
	if c.Longitude != nil && (*c.Longitude < -180 || *c.Longitude > 180) {
		return complain("command.error.longitude", fmt.Sprint(*c.Longitude))
	}
	if c.Elevation < -430 || c.Elevation > 6000 {
		return complain("command.error.elevation", fmt.Sprint(c.Elevation))
	}
	if c.Year == 0 {
		c.Year = term.now().Year()
	}
	if c.Year < 1801 || c.Year > 2199 {
		return outside("--year", c.Year, 1801, 2199)
	}
	rules := scheduler.DefaultRules()
	if c.Rules != "" {
		data, err := os.ReadFile(c.Rules)
		if err != nil {
			return err
		}
		if rules, err = records.ParseRules(data); err != nil {
			return fmt.Errorf("%s: %w", c.Rules, err)
		}
	}
	place := scheduler.Place{Latitude: c.Latitude, ElevationM: c.Elevation, Region: c.Region}
	if c.Region == "" && c.Longitude != nil {
		place.Region = scheduler.RegionAt(c.Latitude, *c.Longitude)
	}
	season := scheduler.NewSeason(place, &rules)
	starts := season.Starts(c.Year)
	rows := []seasonRow{}
	for stage, on := range starts {
		if on != 0 {
			rows = append(rows, seasonRow{scheduler.Stage(stage).String(), on})
		}
	}
	if c.Format == "json" {
		return writeJSON(term, rows)
	}
	fmt.Fprintln(term.out, term.say.Tell(season.Source().Text())+".")
	table := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', 0)
	for stage, on := range starts {
		if on != 0 {
			fmt.Fprintf(table, "%s\t%s\n", term.say.Word(scheduler.Stage(stage)), term.say.Say("command.season-from", on))
		}
	}
	return table.Flush()
}

// writeJSON prints v indented, one document.
func writeJSON(term *terminal, v any) error {
	enc := json.NewEncoder(term.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
