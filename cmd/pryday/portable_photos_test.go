package main

import (
	"archive/zip"
	"bytes"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
	"pryday/store/photo"
	"pryday/store/storetest"
)

// onlyClub opens a database, and finds the one club in it.
func onlyClub(t *testing.T, database string) (*store.Store, int64) {
	t.Helper()
	s, err := store.Open(t.Context(), store.Config{URL: storetest.Serving(database), Apart: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	clubs, err := s.ClubIDs(t.Context())
	if err != nil || len(clubs) != 1 {
		t.Fatalf("%v: %v", clubs, err)
	}
	return s, clubs[0]
}

// photosIn reads what a database holds of photos, but for its own ids and hours.
func photosIn(t *testing.T, database string) (out []store.PlacedPhoto) {
	t.Helper()
	s, club := onlyClub(t, database)
	err := s.EachPhoto(t.Context(), club, func(p *store.PlacedPhoto, file []byte) error {
		if _, err := jpeg.Decode(bytes.NewReader(file)); err != nil {
			t.Error(err)
		}
		kept := *p
		kept.AddedAt, kept.BoxID, kept.HiveID, kept.ApiaryID, kept.By = p.On.At(0, leapDay().Location()), 0, 0, 0, 0
		out = append(out, kept)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(out, func(a, b store.PlacedPhoto) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// TestPhotosGoOutAndIn: into another database, with the document before them; a
// second time changes nothing.
func TestPhotosGoOutAndIn(t *testing.T) {
	here, there, folder := storetest.New(t), storetest.New(t), t.TempDir()
	document, photos := filepath.Join(folder, "club.json"), filepath.Join(folder, "photos.zip")
	if err := os.WriteFile(document, nearClub(scheduler.NewDate(2027, 5, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	mustRun(t, "import", document, "--database-url", here)
	addPhotos(t, here, 2)
	out := filepath.Join(folder, "out.json")
	mustRun(t, "export", "-o", out, "--photos", photos, "--database-url", here)
	if status, said := tryRun(t, "export", "-o", filepath.Join(folder, "again.json"), "--photos", photos, "--database-url", here); status == 0 || !strings.Contains(said, "exists") {
		t.Errorf("a file that is there is written over: %d, %s", status, said)
	}
	mustRun(t, "import", document, "--database-url", there)
	if said := mustRun(t, "import", photos, "--database-url", there); !strings.Contains(said, "2 photos are new") {
		t.Errorf("said %s", said)
	}
	if said := mustRun(t, "import", photos, "--database-url", there); !strings.Contains(said, "0 photos are new") {
		t.Errorf("the second time it said %s", said)
	}
	if want, got := photosIn(t, here), photosIn(t, there); len(want) != 2 || !reflect.DeepEqual(want, got) {
		t.Errorf("came back\n%+v\nwant\n%+v", got, want)
	}

	// One of an opening that is not there, or that is no picture, brings none.
	for name, broken := range map[string]string{"no such opening": uuid.NewString(), "no picture": ""} {
		file := filepath.Join(folder, strings.ReplaceAll(name, " ", "-")+".zip")
		oneMore(t, photos, file, broken)
		status, said := tryRun(t, "import", file, "--database-url", there)
		if status != 1 || !strings.Contains(said, "nothing was imported") || !strings.Contains(said, ".jpg") {
			t.Errorf("%s: %d, %s", name, status, said)
		}
	}
	if got := photosIn(t, there); len(got) != 2 {
		t.Errorf("%d photos after what was refused", len(got))
	}
}

// addPhotos keeps photos with the first openings of a database's only club.
func addPhotos(t *testing.T, database string, n int) {
	t.Helper()
	s, id := onlyClub(t, database)
	err := s.InClub(t.Context(), id, func(tx *store.Tx) error {
		club, err := tx.Club(t.Context())
		if err != nil {
			return err
		}
		for _, h := range club.Apiaries[0].Hives {
			for _, b := range h.Boxes {
				if len(b.Openings) == 0 || n == 0 {
					continue
				}
				n--
				made, err := photo.Make(jpegFile(t, 300+n, 200))
				if err != nil {
					return err
				}
				if _, err := tx.AddPhotos(t.Context(), []store.NewPhoto{{
					ID: uuid.NewString(), BoxID: b.ID, OpeningID: b.Openings[0].ID, On: b.Openings[0].On, By: club.Members[0].ID,
					Large: made.Large, Small: made.Small, Width: made.Width, Height: made.Height,
				}}); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil || n != 0 {
		t.Fatalf("%d photos had no opening: %v", n, err)
	}
}

func jpegFile(t *testing.T, width, height int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewRGBA(image.Rect(0, 0, width, height)), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// oneMore copies an archive and puts one more photo in, of an opening, or without
// one a file that is no picture beside the first.
func oneMore(t *testing.T, from, to, opening string) {
	t.Helper()
	in, err := zip.OpenReader(from)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	w := zip.NewWriter(out)
	data := jpegFile(t, 30, 20)
	if opening == "" {
		opening, data = filepath.Dir(in.File[0].Name), []byte("hello")
	}
	f, err := w.Create(opening + "/" + uuid.NewString() + ".jpg")
	if err == nil {
		_, err = f.Write(data)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
}
