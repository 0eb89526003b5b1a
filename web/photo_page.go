package web

import (
	"bytes"
	"net/http"
	"time"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// photosView is what is shown of the photos of one opening.
type photosView struct {
	Stand []photoLine
	Gone  []photoLine // removed within the last day, for whoever may bring them back
	Count text.Text   // in place of them, to whoever is not signed in
}

// photoLine leads to one photo.
type photoLine struct{ Path, Words string }

// byOpening sorts photos by the ids of their openings.
func byOpening(photos []store.Photo) map[string][]store.Photo {
	out := map[string][]store.Photo{}
	for _, p := range photos {
		out[p.OpeningID] = append(out[p.OpeningID], p)
	}
	return out
}

// photosView shows the photos of an opening, which stand with the first of those
// that correct each other.
func (p *apiaryRecords) photosView(b *scheduler.Box, o *scheduler.Opening, who *visitor) (v photosView) {
	for _, photo := range p.photos[firstOf(b, o)] {
		line := photoLine{photoPath(photo.ID), p.say.Say("page.photo.of", b.Name, p.say.PlainDay(o.On))}
		switch {
		case photo.RemovedAt == nil:
			v.Stand = append(v.Stand, line)
		case mayRemove(who, &photo, p.apiary):
			v.Gone = append(v.Gone, line)
		}
	}
	if n := len(v.Stand); who.person == nil && n > 0 {
		return photosView{Count: text.New("page.photo.count", n)}
	}
	return v
}

// firstOf is the id of the first of the openings that correct each other.
func firstOf(b *scheduler.Box, o *scheduler.Opening) string {
	for o.Supersedes != "" {
		before := openingOf(b, o.Supersedes)
		if before == nil {
			break
		}
		o = before
	}
	return o.ID
}

func photoPath(id string) string { return "/photo/" + id }

// mayRemove reports whether somebody may remove a photo: whoever took it, and
// whoever looks after the apiary where its box stands, if it stands anywhere.
func mayRemove(who *visitor, p *store.Photo, a *scheduler.Apiary) bool {
	switch {
	case who.person == nil:
		return false
	case a == nil:
		return p.By == who.MemberID || who.Role == scheduler.Organiser
	}
	return p.By == who.MemberID || who.mayTend(a)
}

// photoView is the page of one photo.
type photoView struct {
	photoLine
	Box       string
	Where     string
	HiveID    int64
	By        string
	Width     int
	Height    int
	Removed   bool
	MayRemove bool
}

// photoRecords reads the photo of an address, and the club that it is of.
func (s *Server) photoRecords(r *http.Request, who *visitor) (p *store.PlacedPhoto, club *scheduler.Club, may bool, err error) {
	id, err := uuid.Parse(r.PathValue("id"))
	if err != nil {
		return nil, nil, false, store.ErrNotFound
	}
	err = s.inAnyClub(r.Context(), who, func(tx *store.Tx) (err error) {
		if p, err = tx.Photo(r.Context(), id.String()); err != nil {
			return err
		}
		tx.Last()
		club, err = tx.Apiaries(r.Context())
		return err
	})
	if err != nil {
		return nil, nil, false, err
	}
	may = mayRemove(who, &p.Photo, club.Apiary(p.ApiaryID))
	if p.RemovedAt != nil && !may {
		return nil, nil, false, store.ErrNotFound
	}
	return p, club, may, nil
}

func (s *Server) photo(w http.ResponseWriter, r *http.Request, who *visitor) error {
	p, club, may, err := s.photoRecords(r, who)
	if err != nil {
		return err
	}
	say := speaker(club, who.MemberID)
	v := photoView{
		photoLine: photoLine{photoPath(p.ID), say.Say("page.photo.of", p.Box, say.PlainDay(p.On))}, Box: p.Box, HiveID: p.HiveID,
		By: scheduler.NewNames(club).Member(p.By), Width: p.Width, Height: p.Height, Removed: p.RemovedAt != nil, MayRemove: may,
	}
	if p.HiveID != 0 {
		v.Where = p.Apiary + ", " + say.Hive(p.Hive)
	}
	return s.showTo(w, r, who, club, http.StatusOK, "photo", v.Words, v)
}

// picture serves the JPEG file of a photo to members of its club, and to nobody
// out of a cache: each asks whether they still may.
func (s *Server) picture(small bool) func(http.ResponseWriter, *http.Request, *visitor) error {
	return func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		id, err := uuid.Parse(r.PathValue("id"))
		if err != nil {
			return store.ErrNotFound
		}
		var file []byte
		err = s.inAnyClub(r.Context(), who, func(tx *store.Tx) (err error) {
			tx.Last()
			file, err = tx.Picture(r.Context(), id.String(), small)
			return err
		})
		if err != nil {
			return err
		}
		h := w.Header()
		h.Set("Content-Type", "image/jpeg")
		h.Set("Cache-Control", "private, no-cache")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("ETag", `"`+fingerprint(file)+`"`)
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(file))
		return nil
	}
}

// removePhoto takes a photo away, and brings it back within a day.
func (s *Server) removePhoto(back bool) func(http.ResponseWriter, *http.Request, *visitor) error {
	return func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		p, club, may, err := s.photoRecords(r, who)
		if err != nil {
			return err
		}
		if !may {
			return errNotYours
		}
		err = s.cfg.Store.InClub(r.Context(), club.ID, func(tx *store.Tx) error {
			if back {
				return tx.BringBackPhoto(r.Context(), p.ID)
			}
			return tx.RemovePhoto(r.Context(), p.ID)
		})
		if err != nil {
			return err
		}
		say := speaker(club, who.MemberID)
		if back {
			return s.done(w, r, photoPath(p.ID), notice{Text: say.Say("page.photo.back-again")})
		}
		to := "/repairs"
		if p.HiveID != 0 {
			to = "/hive/" + itoa(p.HiveID)
		}
		return s.done(w, r, to, notice{
			Text: say.Say("page.photo.removed", p.Box, text.Full(p.On)), Undo: &undo{Label: say.Say("page.photo.bring-back"), Action: photoPath(p.ID) + "/back"},
		})
	}
}
