package store

import (
	"context"
	"errors"
	"sync"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// samplePhoto is a photo of a box with the opening that counts on a day.
func samplePhoto(box int64, on scheduler.Date, by int64) NewPhoto {
	return NewPhoto{
		ID: uuid.NewString(), BoxID: box, OpeningID: uuid.NewString(), On: on, By: by, Large: []byte("large"), Small: []byte("small"), Width: 800, Height: 600,
	}
}

// photographed is a club of which a box was opened today.
func photographed(t *testing.T) (s *Store, club int64, box *scheduler.Box) {
	t.Helper()
	s, ctx := open(t), context.Background()
	club = importSample(t, s)
	box = &readClub(t, s, club).Apiaries[0].Hives[0].Boxes[0]
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.RecordOpening(ctx, box.ID, scheduler.Opening{On: today, Joint: scheduler.Hard, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}, today)
		return err
	})
	return s, club, &readClub(t, s, club).Apiaries[0].Hives[0].Boxes[0]
}

// addPhoto keeps a photo in a transaction of its own.
func addPhoto(s *Store, club int64, p NewPhoto) (added int, err error) {
	ctx := context.Background()
	err = s.InClub(ctx, club, func(tx *Tx) (err error) {
		added, err = tx.AddPhotos(ctx, []NewPhoto{p})
		return err
	})
	return added, err
}

func photosOf(t *testing.T, s *Store, club, box int64) (out []Photo) {
	t.Helper()
	inClub(t, s, club, func(tx *Tx) (err error) {
		out, err = tx.PhotosOf(context.Background(), []int64{box})
		return err
	})
	return out
}

// TestPhotosComeOnce: however often and from however many phones at once one
// comes, it stands once; and with an opening no more than it may have.
func TestPhotosComeOnce(t *testing.T) {
	t.Parallel()
	s, club, box := photographed(t)
	var photos []NewPhoto
	for range 2 * MostPhotos {
		photos = append(photos, samplePhoto(box.ID, today, 0))
	}
	var wg sync.WaitGroup
	refused := make([]error, 2*len(photos))
	for i := range refused {
		wg.Go(func() { _, refused[i] = addPhoto(s, club, photos[i/2]) })
	}
	wg.Wait()
	tooMany := 0
	for _, err := range refused {
		if errors.Is(err, ErrTooManyPhotos) {
			tooMany++
		} else if err != nil {
			t.Error(err)
		}
	}
	if stand := photosOf(t, s, club, box.ID); len(stand) != MostPhotos || tooMany != 2*MostPhotos {
		t.Errorf("%d stand, and %d were too many", len(stand), tooMany)
	}
}

// TestPhotosStayWithTheirOpening: also when it is corrected, before the photo
// comes or after it.
func TestPhotosStayWithTheirOpening(t *testing.T) {
	t.Parallel()
	s, club, box := photographed(t)
	ctx := context.Background()
	first := box.OpeningOn(today).ID
	correct := func(of string, joint scheduler.Difficulty) string {
		o := scheduler.Opening{ID: uuid.NewString(), Supersedes: of, On: today, Joint: joint, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box.ID, o, today)
			return err
		})
		return o.ID
	}
	second := correct(correct(first, scheduler.Firm), scheduler.Light)
	for name, p := range map[string]NewPhoto{
		"by the last correction": {OpeningID: second, On: today},
		"by the first":           {OpeningID: first, On: today - 40},
		"by the day alone":       {OpeningID: uuid.NewString(), On: today},
	} {
		add := samplePhoto(box.ID, p.On, 0)
		add.OpeningID = p.OpeningID
		if added, err := addPhoto(s, club, add); err != nil || added != 1 {
			t.Errorf("%s: %d, %v", name, added, err)
		}
	}
	for _, p := range photosOf(t, s, club, box.ID) {
		if p.OpeningID != first {
			t.Errorf("a photo is with %s, want %s", p.OpeningID, first)
		}
	}
	if _, err := addPhoto(s, club, samplePhoto(box.ID, today-1, 0)); !errors.Is(err, ErrNotFound) {
		t.Errorf("with no opening: %v", err)
	}
	other := readClub(t, s, club).Apiaries[0].Hives[0].Boxes[1]
	wrong := samplePhoto(other.ID, today, 0)
	wrong.OpeningID = first
	if _, err := addPhoto(s, club, wrong); !errors.Is(err, ErrNotFound) {
		t.Errorf("with the opening of another box: %v", err)
	}
}

func TestRemovedPhotosComeBackForADay(t *testing.T) {
	t.Parallel()
	s, club, box := photographed(t)
	ctx := context.Background()
	p := samplePhoto(box.ID, today, 0)
	if _, err := addPhoto(s, club, p); err != nil {
		t.Fatal(err)
	}
	try := func(do func(*Tx) error) error { return s.InClub(ctx, club, do) }
	remove := func(tx *Tx) error { return tx.RemovePhoto(ctx, p.ID) }
	back := func(tx *Tx) error { return tx.BringBackPhoto(ctx, p.ID) }
	picture := func(tx *Tx) error { _, err := tx.Picture(ctx, p.ID, true); return err }
	for range 2 {
		if err := try(remove); err != nil {
			t.Fatal(err)
		}
	}
	if err := try(picture); !errors.Is(err, ErrNotFound) {
		t.Errorf("the picture of a removed photo: %v", err)
	}
	if _, err := s.Clear(ctx, civil(0)); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := try(back); err != nil {
			t.Fatal(err)
		}
	}
	if err := try(picture); err != nil {
		t.Errorf("brought back: %v", err)
	}
	if err := try(remove); err != nil {
		t.Fatal(err)
	}
	var others []NewPhoto
	for range MostPhotos {
		others = append(others, samplePhoto(box.ID, today, 0))
		if _, err := addPhoto(s, club, others[len(others)-1]); err != nil {
			t.Fatal(err)
		}
	}
	if err := try(back); !errors.Is(err, ErrTooManyPhotos) {
		t.Errorf("brought back where others took its place: %v", err)
	}
	if err := try(func(tx *Tx) error { return tx.RemovePhoto(ctx, others[0].ID) }); err != nil {
		t.Fatal(err)
	}
	owner(t, s, `UPDATE photo SET removed_at = now() - interval '25 hours' WHERE id = '`+p.ID+`'`)
	if cleared, err := s.Clear(ctx, civil(0)); err != nil || cleared.Photos != 1 {
		t.Errorf("cleared %+v: %v", cleared, err)
	}
	if err := try(back); !errors.Is(err, ErrNotFound) {
		t.Errorf("brought back after a day: %v", err)
	}
	// One that comes late again stays away.
	if added, err := addPhoto(s, club, p); err != nil || added != 0 {
		t.Errorf("came again: %d, %v", added, err)
	}
	if err := s.DeleteClub(ctx, club); err != nil {
		t.Fatal(err)
	}
	if left := rowsOf(t, s, `SELECT id::text FROM photo`); len(left) != 0 {
		t.Errorf("%d photos are left of a deleted club", len(left))
	}
}
