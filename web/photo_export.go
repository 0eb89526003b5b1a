package web

import (
	"net/http"
	"time"

	"pryday/store"
	"pryday/store/photo"
)

// exportPhotos sends all photos of the club as a ZIP file. However long that
// takes, each photo may take a minute.
func (s *Server) exportPhotos(w http.ResponseWriter, r *http.Request, who *visitor) error {
	if err := s.noteExport(r, who, "photos.zip"); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="photos.zip"`)
	h.Set("Cache-Control", "private, no-store")
	archive, deadline := photo.NewArchive(w), http.NewResponseController(w)
	err := s.cfg.Store.EachPhoto(r.Context(), who.ClubID, func(p *store.PlacedPhoto, jpeg []byte) error {
		if err := deadline.SetWriteDeadline(time.Now().Add(time.Minute)); err != nil {
			return err
		}
		return archive.Add(photo.Place{ID: p.ID, Opening: p.OpeningID, Apiary: p.Apiary, Hive: p.Hive, Box: p.Box, On: p.On.String(), By: p.Email}, jpeg)
	})
	if err == nil {
		err = archive.Close()
	}
	if err != nil && r.Context().Err() == nil {
		s.cfg.Logger.Error("send the photos", "err", err)
		panic(http.ErrAbortHandler) // a part has gone out: nobody may take it for the whole
	}
	return nil
}
