package photo

import (
	"archive/zip"
	"encoding/csv"
	"fmt"
	"io"
	"path"
	"strings"

	"github.com/google/uuid"
)

// Place is what an archive says of a photo beside its picture. Its id and its
// opening's are the names of its file and of the folder that this lies in.
type Place struct {
	ID, Opening       string // UUIDs
	Apiary, Hive, Box string // names, for people who look for a photo
	On                string // day of the opening
	By                string // e-mail address; empty for one who left
}

const listName = "photos.csv"

var listHead = []string{"file", "apiary", "hive", "box", "opened_on", "by"}

// Archive writes photos into a ZIP file one by one, and what is known of them into
// a list at its end. It holds no more than one picture in memory.
type Archive struct {
	zip  *zip.Writer
	list [][]string
}

// NewArchive begins an archive.
func NewArchive(w io.Writer) *Archive {
	return &Archive{zip: zip.NewWriter(w), list: [][]string{listHead}}
}

// Add writes one photo.
func (a *Archive) Add(p Place, jpeg []byte) error {
	name := p.Opening + "/" + p.ID + ".jpg"
	w, err := a.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store}) // a JPEG gets no smaller
	if err != nil {
		return err
	}
	a.list = append(a.list, []string{name, plain(p.Apiary), plain(p.Hive), plain(p.Box), p.On, p.By})
	_, err = w.Write(jpeg)
	return err
}

// plain keeps a spreadsheet from taking a name for a formula.
func plain(name string) string {
	if strings.IndexAny(name, "=+-@\t\r") == 0 {
		return "'" + name
	}
	return name
}

// Close writes the list and ends the archive.
func (a *Archive) Close() error {
	w, err := a.zip.Create(listName)
	if err != nil {
		return err
	}
	if err := csv.NewWriter(w).WriteAll(a.list); err != nil {
		return err
	}
	return a.zip.Close()
}

// ReadArchive hands the photos of an archive over one by one. Of a Place it fills
// in what a reader needs: the ids, and who took the photo. Other files are an
// error that names them.
func ReadArchive(r io.ReaderAt, size int64, each func(Place, []byte) error) error {
	in, err := zip.NewReader(r, size)
	if err != nil {
		return fmt.Errorf("it is no ZIP file of photos: %w", err)
	}
	by, err := takers(in)
	if err != nil {
		return err
	}
	for _, file := range in.File {
		if file.Name == listName || strings.HasSuffix(file.Name, "/") {
			continue
		}
		p := Place{Opening: path.Dir(file.Name), ID: strings.TrimSuffix(path.Base(file.Name), ".jpg"), By: by[file.Name]}
		if uuid.Validate(p.ID) != nil || uuid.Validate(p.Opening) != nil {
			return fmt.Errorf("%s: a photo's file is called as its id, in a folder called as its opening's", file.Name)
		}
		data, err := content(file)
		if err == nil {
			err = each(p, data)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", file.Name, err)
		}
	}
	return nil
}

// takers reads from the list who took which photo; without a list nobody knows.
func takers(in *zip.Reader) (map[string]string, error) {
	by := map[string]string{}
	f, err := in.Open(listName)
	if err != nil {
		return by, nil
	}
	defer f.Close()
	rows, err := csv.NewReader(io.LimitReader(f, 64<<20)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", listName, err)
	}
	for _, row := range rows[min(1, len(rows)):] {
		if len(row) == len(listHead) {
			by[row[0]] = row[len(row)-1]
		}
	}
	return by, nil
}

func content(file *zip.File) ([]byte, error) {
	r, err := file.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(io.LimitReader(r, MaxBytes+1)) // Make refuses what is larger
}
