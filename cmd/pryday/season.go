package main

import (
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"text/tabwriter"

	"pryday/scheduler"
	"pryday/store/records"
)

type seasonCmd struct {
	Latitude  string           `required:"" placeholder:"DEGREES" help:"Degrees with a point, as 50.5, north positive, -90 to 90."`
	Longitude string           `placeholder:"DEGREES" help:"Degrees with a point, east positive, -180 to 180; the region follows from both. Left out: continental."`
	Elevation string           `default:"0" placeholder:"METRES" help:"Metres above sea level, -430 to 6000."`
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
	latitude, ok := number(c.Latitude, -90, 90)
	if !ok {
		return complain("command.error.latitude", c.Latitude)
	}
	longitude, ok := number(c.Longitude, -180, 180)
	if !ok && c.Longitude != "" {
		return complain("command.error.longitude", c.Longitude)
	}
	elevation, ok := number(c.Elevation, -430, 6000)
	if !ok {
		return complain("command.error.elevation", c.Elevation)
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
	place := scheduler.Place{Latitude: latitude, ElevationM: elevation, Region: c.Region}
	if c.Region == "" && c.Longitude != "" {
		place.Region = scheduler.RegionAt(latitude, longitude)
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

// number reads what was typed; ok is false when it is none from least to most.
func number(typed string, least, most float64) (n float64, ok bool) {
	n, err := strconv.ParseFloat(typed, 64)
	return n, err == nil && n >= least && n <= most
}

// writeJSON prints v indented, one document.
func writeJSON(term *terminal, v any) error {
	enc := json.NewEncoder(term.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
