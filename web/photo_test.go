package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

// picture is a JPEG of a size and a colour.
func picture(t testing.TB, width, height int, c color.Color) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			m.Set(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// chosenFile is one file of a form.
type chosenFile struct {
	field, name string
	data        []byte
}

// postFiles sends a form with files, as a browser without a script does.
func (b *browser) postFiles(path string, values url.Values, files []chosenFile, header ...string) *answer {
	b.c.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name, all := range values {
		for _, v := range all {
			if err := w.WriteField(name, v); err != nil {
				b.c.t.Fatal(err)
			}
		}
	}
	for _, f := range append(files, chosenFile{field: "b1-photo"}) { // of a field in which nothing was chosen
		part, err := w.CreateFormFile(f.field, f.name)
		if err == nil {
			_, err = part.Write(f.data)
		}
		if err != nil {
			b.c.t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		b.c.t.Fatal(err)
	}
	r, err := http.NewRequest("POST", b.c.http.URL+path, &body)
	if err != nil {
		b.c.t.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	res, err := b.client.Do(r)
	if err != nil {
		b.c.t.Fatal(err)
	}
	defer res.Body.Close()
	var out bytes.Buffer
	if _, err := out.ReadFrom(res.Body); err != nil {
		b.c.t.Fatal(err)
	}
	return &answer{b.c.t, res.StatusCode, out.String(), res.Header}
}

// photosOf reads the photos of a box.
func (c *testClub) photosOf(box int64) (out []store.Photo) {
	c.t.Helper()
	c.in(func(tx *store.Tx) (err error) {
		out, err = tx.PhotosOf(context.Background(), []int64{box})
		return err
	})
	return out
}

// TestPhotosWithoutAScript: they come with the answers, are kept once, and are
// shown where one looks for them.
func TestPhotosWithoutAScript(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path, of, b := "/hive/"+itoa(h.ID)+"/record", fieldsOf(box.ID), c.as("Brida")
	b.get(path).says(http.StatusOK, "Photos").holds(`enctype="multipart/form-data"`).holds(`accept="image/*" capture="environment"`)
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), of+"joint", "2", of+"condition", "rot")
	files := []chosenFile{{of + "photo", "corner.jpg", picture(t, 2000, 1500, color.RGBA{R: 200, A: 255})}, {of + "photo", "rot.jpg", picture(t, 30, 40, color.White)}}
	for range 2 { // taps
		b.postFiles(path, form, files).says(http.StatusSeeOther)
	}
	photos := c.photosOf(box.ID)
	if len(photos) != 2 || photos[0].Width != 1600 || photos[0].Height != 1200 || photos[0].By != c.member["Brida"] {
		t.Fatalf("kept %+v", photos)
	}
	shown := `<img src="` + photoPath(photos[0].ID) + `/small" alt="Photo of Q13, opened on 1 June 2027"`
	for _, page := range []string{path, "/hive/" + itoa(h.ID), "/repairs"} {
		b.get(page).says(http.StatusOK).holds(shown).holds(`loading="lazy"`)
	}

	// A correction keeps them and may bring more, and is not saved where those are
	// too many.
	for i, joint := range []string{"3", "1"} {
		_, box = c.boxNamed("Q13")
		add := recordForm(box, uuid.NewString(), "joint", joint, "condition", "rot", "supersedes", box.OpeningOn(today).ID, "sure", "yes")
		got := b.postFiles(path, add, []chosenFile{{"photo", "more.jpg", picture(t, 30+i, 30, color.Black)}})
		if i == 0 {
			got.says(http.StatusSeeOther)
		} else {
			got.says(http.StatusConflict, "Too many photos")
		}
	}
	if _, box = c.boxNamed("Q13"); box.OpeningOn(today).Joint != scheduler.Hard || len(c.photosOf(box.ID)) != store.MostPhotos {
		t.Errorf("%+v, %d photos", box.OpeningOn(today), len(c.photosOf(box.ID)))
	}
	b.get("/hive/" + itoa(h.ID)).says(http.StatusOK).holds(shown)
}

// TestPhotosRefused: nothing of the form is saved, all of it comes back, and what
// is wrong is said at the box.
func TestPhotosRefused(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path, of, b := "/hive/"+itoa(h.ID)+"/record", fieldsOf(box.ID), c.as("Brida")
	good := chosenFile{of + "photo", "a.jpg", picture(t, 20, 20, color.White)}
	for name, row := range map[string]struct {
		joint string
		files []chosenFile
		says  string
	}{
		"no picture":    {"2", []chosenFile{{of + "photo", "notes.txt", []byte("hello")}}, `"notes.txt" is not kept: it is no picture`},
		"a phone's own": {"2", []chosenFile{{of + "photo", "IMG_1.HEIC", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00")}}, "Set the camera to take JPEG"},
		"too many":      {"2", []chosenFile{good, good, good, good}, "Up to 3 photos are kept"},
		"too large":     {"2", []chosenFile{{of + "photo", "huge.jpg", append(picture(t, 20, 20, color.White), make([]byte, 12<<20)...)}}, "Choose a smaller one"},
		"no answer":     {"", []chosenFile{good}, "Say how the joint came open"},
		"a question":    {"9", []chosenFile{good}, "Say how the joint came open"},
	} {
		form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), of+"joint", row.joint, of+"note", "typed with care")
		got := b.postFiles(path, form, row.files)
		if got.status != http.StatusUnprocessableEntity || !strings.Contains(strings.ReplaceAll(got.text(), "&#34;", `"`), row.says) {
			t.Errorf("%s: %d, want to read %s: %s", name, got.status, row.says, cutTo(got.text(), 1500))
		}
		got.holds("typed with care")
		if good := name == "no answer"; good {
			got.says(http.StatusUnprocessableEntity, "Choose the photos of this box again")
		}
	}
	if c.recordedOf(h.ID) != 0 || len(c.photosOf(box.ID)) != 0 {
		t.Error("something refused was kept")
	}
	b.postFiles(path, fields("hive", itoa(h.ID)), []chosenFile{{of + "photo", "x", make([]byte, maxPhotoForm)}}).says(http.StatusRequestEntityTooLarge, "Too long")
}

// The whole hive without trouble takes the photos of its boxes along.
func TestPhotosWithTheWholeHive(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), "whole", "yes", "scraped", "all")
	c.as("Brida").postFiles("/hive/"+itoa(h.ID)+"/record", form, []chosenFile{{fieldsOf(box.ID) + "photo", "a.jpg", picture(t, 20, 20, color.White)}}).says(http.StatusSeeOther)
	if _, box = c.boxNamed("Q13"); c.recordedOf(h.ID) != 3 || box.OpeningOn(today).Joint != scheduler.Light || box.OpeningOn(today).Scraped != scheduler.ScrapedAll {
		t.Errorf("%d boxes, and %+v", c.recordedOf(h.ID), box.OpeningOn(today))
	}
	if len(c.photosOf(box.ID)) != 1 {
		t.Error("its photo is not kept")
	}
}

// latePhoto is a photo as the script sends it, after the record that it belongs to.
func (b *browser) latePhoto(path, id string, values url.Values, data []byte) *answer {
	b.c.t.Helper()
	values.Set("photo-id", id)
	return b.postFiles(path, values, []chosenFile{{"photo", "photo.jpg", data}}, "Accept", problemJSON, "Prefer", "return=minimal")
}

func TestPhotosAfterTheirRecord(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	h, box := c.boxNamed("Q13")
	base, of := uuid.NewString(), fields("photo-of", itoa(box.ID), "hive", itoa(h.ID), "on", today.String())
	of.Set("base", base)
	for _, path := range []string{"/hive/" + itoa(h.ID) + "/record", visitPath(v.UID) + "/record", c.act(notify.RecordDeed, "Brida", v)} {
		b := c.as("Brida")
		id, data := uuid.NewString(), picture(t, 40, 30, color.White)
		if path != "/hive/"+itoa(h.ID)+"/record" {
			of.Set("who", itoa(c.member["Brida"]))
		} else {
			b.latePhoto(path, id, of, data).says(http.StatusConflict, "has no opening on")
			b.post(path, fields("hive", itoa(h.ID), "on", today.String(), "base", base, fieldsOf(box.ID)+"joint", "2")).says(http.StatusSeeOther)
			b.latePhoto(path, id, of, []byte("no picture")).says(http.StatusUnprocessableEntity, "no picture that can be read")
		}
		for range 3 { // the answer was lost on the way
			b.latePhoto(path, id, of, data).says(http.StatusCreated)
		}
	}
	if photos := c.photosOf(box.ID); len(photos) != 3 {
		t.Errorf("%d photos are kept, want 3", len(photos))
	}
	got := c.as("Brida").latePhoto("/hive/"+itoa(h.ID)+"/record", uuid.NewString(), of, picture(t, 40, 30, color.White))
	got.says(http.StatusConflict, "Up to three photos are kept")
	of.Set("who", itoa(c.member["Ansel"]))
	c.as("Brida").latePhoto("/hive/"+itoa(h.ID)+"/record", uuid.NewString(), of, nil).says(http.StatusForbidden)

	// Whoever comes from a mail is told that they are there, and not shown them.
	c.stranger().get(c.act(notify.RecordDeed, "Brida", v)).says(http.StatusOK, "3 photos are kept with it").hides("/photo/")
}

// TestWhoSeesAPhoto: members of the club, and nobody else; who took it or looks
// after the apiary may remove it, and bring it back.
func TestWhoSeesAPhoto(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	of := fieldsOf(box.ID)
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), of+"joint", "2")
	c.as("Ansel").postFiles("/hive/"+itoa(h.ID)+"/record", form, []chosenFile{{of + "photo", "a.jpg", picture(t, 800, 600, color.White)}}).says(http.StatusSeeOther)
	path := photoPath(c.photosOf(box.ID)[0].ID)
	const ok, signIn, refused, unknown = http.StatusOK, http.StatusSeeOther, http.StatusForbidden, http.StatusNotFound
	browsers := map[string]*browser{"Ansel": c.as("Ansel"), "Brida": c.as("Brida"), "Corin": c.as("Corin"), "Dorrit": c.as("Dorrit"), "": c.stranger()}
	for name, want := range map[string][2]int{"Ansel": {ok, signIn}, "Brida": {ok, signIn}, "Corin": {ok, refused}, "Dorrit": {unknown, unknown}, "": {signIn, signIn}} {
		for _, part := range []string{"", "/small", "/large"} {
			got := browsers[name].get(path + part).says(want[0])
			if isImage := strings.HasPrefix(got.body, "\xff\xd8\xff"); isImage != (want[0] == ok && part != "") {
				t.Errorf("%s%s for %q: %.20q", path, part, name, got.body)
			} else if isImage {
				for header, want := range map[string]string{
					"Content-Type": "image/jpeg", "Cache-Control": "private, no-cache", "X-Content-Type-Options": "nosniff", "Cross-Origin-Resource-Policy": "same-origin",
				} {
					if got.header.Get(header) != want {
						t.Errorf("%s: %q, want %q", header, got.header.Get(header), want)
					}
				}
				if again := browsers[name].send("GET", path+part, nil, map[string]string{"If-None-Match": got.header.Get("ETag")}); again.status != http.StatusNotModified {
					t.Errorf("asked again: %d", again.status)
				}
			}
		}
		for _, deed := range []string{"/remove", "/back"} {
			browsers[name].post(path+deed, fields()).says(want[1])
		}
	}
	browsers["Brida"].follow(path+"/remove", fields()).says(ok, "A photo of Q13 from", "is removed", "it can be brought back").hides(path + "/small")
	for name, want := range map[string]int{"Ansel": ok, "Brida": ok, "Corin": unknown} {
		browsers[name].get(path).says(want)
		browsers[name].get(path + "/large").says(unknown)
	}
	browsers["Corin"].get("/hive/" + itoa(h.ID)).says(ok).hides("A photo was removed")
	browsers["Ansel"].follow(path+"/back", fields()).says(ok, "The photo is back.").holds(fmt.Sprintf(`src="%s/large"`, path))
	browsers["Ansel"].get("/photo/nonsense").says(unknown)
	browsers["Ansel"].get("/photo/" + uuid.NewString() + "/large").says(unknown)
}
