package main

import (
	"cmp"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/records"
)

type importCmd struct {
	File     string         `arg:"" help:"A JSON document, a CSV of openings (named .csv), or a ZIP of photos (named .zip); - reads a JSON document from standard input."`
	Club     string         `placeholder:"NAME" help:"The club that a CSV of openings or photos belong to, where there are several."`
	NewBoxes bool           `help:"Let a CSV bring hives and boxes that the club does not have yet."`
	Today    scheduler.Date `placeholder:"DATE" help:"The day to plan from; today when left out."`
	Database databaseFlags  `embed:""`
}

func (c *importCmd) Run(ctx context.Context, term *terminal) error {
	if strings.HasSuffix(strings.ToLower(c.File), ".zip") {
		return c.photos(ctx, term)
	}
	data, err := c.read(term)
	if err != nil {
		return err
	}
	if strings.HasSuffix(strings.ToLower(c.File), ".csv") {
		return c.openings(ctx, term, data)
	}
	club, err := records.Parse(data)
	if err != nil {
		return complain("command.error.file-not-imported", c.File, err)
	}
	return c.Database.withNewStore(ctx, term, func(s *store.Store) error {
		id, err := clubNamed(ctx, s, club.Name)
		if err != nil {
			return err
		}
		return c.bring(ctx, term, s, id, club)
	})
}

func (c *importCmd) read(term *terminal) ([]byte, error) {
	if c.File == "-" {
		return io.ReadAll(term.in)
	}
	return os.ReadFile(c.File)
}

// openings adds a CSV of openings to the records of a club that is there.
func (c *importCmd) openings(ctx context.Context, term *terminal, data []byte) error {
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		id, err := findClub(ctx, s, c.Club)
		if err != nil {
			return err
		}
		var club *scheduler.Club
		if err := s.InSnapshot(ctx, id, func(tx *store.Tx) (err error) {
			club, err = tx.Club(ctx)
			return err
		}); err != nil {
			return err
		}
		if _, err := records.ParseOpenings(data, club, records.CSVOptions{CreateBoxes: c.NewBoxes}); err != nil {
			return complain("command.error.file-not-imported", c.File, err)
		}
		return c.bring(ctx, term, s, id, club)
	})
}

// bring imports and replans in one transaction, in which a club is made where
// there is none (id 0), and says what changed.
func (c *importCmd) bring(ctx context.Context, term *terminal, s *store.Store, id int64, club *scheduler.Club) error {
	var done store.Imported
	work := func(tx *store.Tx) (err error) {
		if done, err = tx.ImportAsking(ctx, club); err != nil {
			return err
		}
		if done.Changed() {
			if err := tx.Audit(ctx, store.AuditEntry{Action: "import records", Subject: exportName(c.File, "")}); err != nil {
				return err
			}
		}
		today, err := tx.Today(ctx, term.now())
		if err != nil {
			return err
		}
		_, err = tx.ReplanAll(ctx, cmp.Or(c.Today, today))
		return err
	}
	var err error
	if id == 0 {
		_, err = s.FoundClub(ctx, club.Name, work)
	} else {
		err = s.InClub(ctx, id, work)
	}
	if err != nil {
		return complain("command.error.nothing-imported", err)
	}
	if !done.Changed() {
		return term.tell("command.import.known", club.Name)
	}
	return term.tell("command.import.new", club.Name, text.New("command.import.members", done.Members),
		text.New("command.import.apiaries", done.Apiaries), text.New("command.import.hives", done.Hives),
		text.New("command.boxes", done.Boxes), text.New("command.import.openings", done.Openings))
}

// clubNamed finds a club by its exact name; 0 when there is none.
func clubNamed(ctx context.Context, s *store.Store, name string) (int64, error) {
	clubs, err := clubs(ctx, s)
	for _, c := range clubs {
		if c.Name == name {
			return c.ID, nil
		}
	}
	return 0, err
}

type exportCmd struct {
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Format   string        `enum:"json,csv" default:"json" help:"json for the whole document, csv for the openings."`
	Output   string        `short:"o" placeholder:"FILE" help:"Write to a file that is not there yet, instead of standard output."`
	Photos   string        `placeholder:"FILE.zip" help:"Write the photos too, to a ZIP file that is not there yet; import takes it after the document."`
	Database databaseFlags `embed:""`
}

// exportName is what the trail calls a file: without the folders of this machine.
func exportName(file, otherwise string) string {
	if file == "" {
		return otherwise
	}
	return filepath.Base(file)
}

func (c *exportCmd) Run(ctx context.Context, term *terminal) error {
	var data []byte
	err := c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		club, err := tx.Export(ctx)
		if err != nil {
			return err
		}
		if c.Format == "csv" {
			data = records.EncodeOpenings(club)
		} else {
			data, err = records.Encode(club)
		}
		if err != nil {
			return err
		}
		return tx.Audit(ctx, store.AuditEntry{Action: "export records", Subject: exportName(c.Output, "club."+c.Format)})
	})
	if err == nil && c.Photos != "" {
		err = c.Database.withStore(ctx, term, func(s *store.Store) error {
			club, err := findClub(ctx, s, c.Club)
			if err != nil {
				return err
			}
			if err := exportPhotos(ctx, s, club, c.Photos); err != nil {
				return err
			}
			return s.InClub(ctx, club, func(tx *store.Tx) error {
				return tx.Audit(ctx, store.AuditEntry{Action: "export records", Subject: exportName(c.Photos, "")})
			})
		})
	}
	if err != nil {
		return err
	}
	if c.Output == "" {
		_, err := term.out.Write(data)
		return err
	}
	return writeNew(c.Output, data)
}

// writeNew writes a file that is not there yet.
func writeNew(file string, data []byte) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	if _, err := f.Write(data); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
