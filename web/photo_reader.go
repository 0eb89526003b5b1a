package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"slices"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/photo"
)

// maxPhotoForm is the size of the largest form with photos in bytes: a whole hive
// at once, as a browser without a script sends it.
const maxPhotoForm = 60 << 20

// readRecordForm reads a record form, which photos may come with.
func readRecordForm(w http.ResponseWriter, r *http.Request) (*form, error) {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "multipart/form-data" {
		return readForm(w, r)
	}
	f, err := readUpTo(w, r, maxPhotoForm, func() error { return r.ParseMultipartForm(1 << 20) })
	if err == nil {
		f.files = r.MultipartForm.File
	}
	return f, err
}

// chosen are the files that somebody chose as photos.
func (f *form) chosen() []*multipart.FileHeader {
	return slices.DeleteFunc(slices.Clone(f.files["photo"]), func(file *multipart.FileHeader) bool { return file.Size == 0 && file.Filename == "" })
}

// photos reads those that came with the answers of a box, for the opening that the
// answers make. What cannot be kept is noted with the form.
func (rec *recorder) photos(f *form, box int64, o *scheduler.Opening) (out []store.NewPhoto) {
	given := f.values["photo-id"]
	for _, file := range f.chosen() {
		if len(out) == store.MostPhotos {
			f.bad("photo", "form.photos-too-many", store.MostPhotos)
			return out
		}
		made, id, err := readPhoto(file, o.ID)
		if err != nil {
			f.bad("photo", whyNoPhoto(err), cut(file.Filename))
			continue
		}
		if n := len(out); n < len(given) {
			if client, err := uuid.Parse(given[n]); err == nil {
				id = client
			}
		}
		out = append(out, store.NewPhoto{
			ID: id.String(), BoxID: box, OpeningID: o.ID, Corrects: o.Supersedes, On: rec.on, By: rec.who.MemberID,
			Large: made.Large, Small: made.Small, Width: made.Width, Height: made.Height,
		})
	}
	return out
}

// readPhoto makes a photo of a file. The id follows from what it is and where it
// belongs, so that a form sent twice counts once.
func readPhoto(file *multipart.FileHeader, opening string) (*photo.Photo, uuid.UUID, error) {
	if file.Size > photo.MaxBytes {
		return nil, uuid.Nil, photo.ErrTooLarge
	}
	open, err := file.Open()
	if err != nil {
		return nil, uuid.Nil, err
	}
	defer open.Close()
	data, err := io.ReadAll(open)
	if err != nil {
		return nil, uuid.Nil, err
	}
	made, err := photo.Make(data)
	sum := sha256.Sum256(data)
	return made, uuid.NewSHA1(uuid.NameSpaceOID, append([]byte("photo with "+opening), sum[:]...)), err
}

// whyNoPhoto is the key of what is said where a file is not taken.
func whyNoPhoto(err error) string {
	switch {
	case errors.Is(err, photo.ErrApplesFormat):
		return "form.photo-heic"
	case errors.Is(err, photo.ErrTooLarge), errors.Is(err, photo.ErrTooManyPixels):
		return "form.photo-too-large"
	}
	return "form.photo-none"
}

// photosOnly keeps photos that come after the record that they belong to, as a
// script sends them.
func (s *Server) photosOnly(w http.ResponseWriter, r *http.Request, rec *recorder, f *form) error {
	hive, box := rec.p.apiary.Box(f.id("photo-of"))
	if box == nil || rec.hive != nil && hive.ID != rec.hive.ID && !late(f) {
		return newProblem(http.StatusConflict, "problem.box-gone", rec.p.apiary.Name)
	}
	o := rec.opening(f)
	if f.has("base") {
		o.ID = openingID(f, box.ID)
	}
	delete(f.Problems, "joint") // nothing is answered here
	photos := rec.photos(f, box.ID, &o)
	if !f.ok() {
		return newProblem(http.StatusUnprocessableEntity, "problem.photo", f.Problems["photo"])
	}
	err := s.cfg.Store.InClub(r.Context(), rec.who.ClubID, func(tx *store.Tx) error {
		_, err := tx.AddPhotos(r.Context(), photos)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return newProblem(http.StatusConflict, "problem.photo-of-nothing", box.Name, text.Full(rec.on))
	}
	if err != nil {
		return err
	}
	w.Header().Set("Location", rec.address(hive.ID)+"#box-"+itoa(box.ID))
	w.WriteHeader(http.StatusCreated)
	return nil
}

// addPhotos keeps the photos of boxes whose opening was taken.
func addPhotos(ctx context.Context, tx *store.Tx, photos []store.NewPhoto, yielded []int64) error {
	var mine []store.NewPhoto
	for _, p := range photos {
		if !slices.Contains(yielded, p.BoxID) {
			mine = append(mine, p)
		}
	}
	_, err := tx.AddPhotos(ctx, mine)
	return err
}

// onlyPhotos reports whether photos are all that a form says of a box. "The whole
// hive without trouble" then answers for it, if it asks for the box.
func (rec *recorder) onlyPhotos(sub, f *form, b *scheduler.Box) bool {
	if len(sub.chosen()) == 0 {
		return false
	}
	if f.has("whole") && rec.planned(b.ID) {
		sub.values.Set("joint", "1")
	}
	return true
}

func photosOf(answers []boxAnswers) (out []store.NewPhoto) {
	for _, a := range answers {
		out = append(out, a.photos...)
	}
	return out
}
