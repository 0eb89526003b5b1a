package main

import (
	"context"
	"errors"
	"os"
	"strings"

	"pryday/store"
	"pryday/store/photo"
)

// exportPhotos writes the photos of a club to a ZIP file that is not there yet.
func exportPhotos(ctx context.Context, s *store.Store, club int64, file string) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	archive := photo.NewArchive(f)
	err = s.EachPhoto(ctx, club, func(p *store.PlacedPhoto, jpeg []byte) error {
		return archive.Add(photo.Place{ID: p.ID, Opening: p.OpeningID, Apiary: p.Apiary, Hive: p.Hive, Box: p.Box, On: p.On.String(), By: p.Email}, jpeg)
	})
	if err == nil {
		err = archive.Close()
	}
	return errors.Join(err, f.Close())
}

// photos brings the photos of a ZIP file into a club whose openings are there,
// all of them or none.
func (c *importCmd) photos(ctx context.Context, term *terminal) error {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		club, err := findClub(ctx, s, c.Club)
		if err != nil {
			return err
		}
		added := 0
		err = s.InClub(ctx, club, func(tx *store.Tx) error {
			added = 0
			members, err := membersByEmail(ctx, tx)
			if err != nil {
				return err
			}
			err = photo.ReadArchive(f, info.Size(), func(p photo.Place, data []byte) error {
				made, err := photo.Make(data)
				if err != nil {
					return err
				}
				isNew, err := tx.ImportPhoto(ctx, store.NewPhoto{
					ID: p.ID, OpeningID: p.Opening, By: members[strings.ToLower(p.By)], Large: made.Large, Small: made.Small, Width: made.Width, Height: made.Height,
				})
				if errors.Is(err, store.ErrNotFound) {
					return complain("command.error.photo-of-nothing", p.Opening)
				}
				if isNew {
					added++
				}
				return err
			})
			if err != nil || added == 0 {
				return err
			}
			return tx.Audit(ctx, store.AuditEntry{Action: "import records", Subject: exportName(c.File, "")})
		})
		if err != nil {
			return complain("command.error.file-not-imported", c.File, err)
		}
		return term.tell("command.import.photos", added)
	})
}

// membersByEmail are the ids of a club's members by their addresses in lower case.
func membersByEmail(ctx context.Context, tx *store.Tx) (map[string]int64, error) {
	members, err := tx.Members(ctx)
	out := map[string]int64{}
	for _, m := range members {
		out[strings.ToLower(m.Email)] = m.ID
	}
	return out, err
}
