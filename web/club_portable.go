package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/notebook"
	"pryday/store/records"
	"pryday/store/sheet"
)

// The largest files taken, in bytes. Ten thousand openings are about 2 MB.
const (
	maxRecords = 32 << 20
	maxRules   = 256 << 10
)

// replannedAtOnce is how many boxes are planned before an import answers; a
// larger club is planned in the background.
const replannedAtOnce = 3000

// recordsView is what goes in and out as files.
type recordsView struct {
	File     string
	Problems []text.Text // everything wrong with the file
	Would    []text.Text // what the import would change
	Checked  bool
	Backup   text.Text // when the service's own backup was made
}

func (s *Server) records(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showRecords(w, r, who, http.StatusOK, recordsView{})
}

func (s *Server) showRecords(w http.ResponseWriter, r *http.Request, who *visitor, status int, v recordsView) error {
	var club *scheduler.Club
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		club, err = tx.Apiaries(r.Context())
		return err
	})
	if err != nil {
		return err
	}
	v.Backup = s.backupNote(club)
	return s.showTo(w, r, who, club, status, "records", speaker(club, who.MemberID).Say("page.menu.records"), v)
}

func boxesOf(club *scheduler.Club) int {
	n := len(club.Spare)
	for i := range club.Apiaries {
		for j := range club.Apiaries[i].Hives {
			n += len(club.Apiaries[i].Hives[j].Boxes)
		}
	}
	return n
}

// exportRecords sends the whole document, or the openings as a list or a spreadsheet.
func (s *Server) exportRecords(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	err := s.cfg.Store.InSnapshot(store.MayLag(r.Context()), who.ClubID, func(tx *store.Tx) (err error) {
		club, err = tx.Export(r.Context())
		return err
	})
	if err != nil {
		return err
	}
	day := club.Today(s.now()).String()
	name := "club-" + day + ".json"
	if as := r.URL.Query().Get("as"); as == "csv" || as == "xlsx" {
		name = "openings-" + day + "." + as
	}
	if err := s.noteExport(r, who, name); err != nil {
		return err
	}
	if r.URL.Query().Get("as") == "csv" {
		return download(w, "text/csv; charset=utf-8", name, records.EncodeOpenings(club))
	}
	if r.URL.Query().Get("as") == "xlsx" {
		say := speaker(club, who.MemberID)
		book, err := sheet.WriteXLSX(sheet.Sheet{Name: say.Say("page.fit.openings"), Rows: notebook.Table(club, say)})
		if err != nil {
			return err
		}
		return download(w, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", name, book)
	}
	document, err := records.Encode(club)
	if err != nil {
		return err
	}
	return download(w, "application/json", name, document)
}

// noteExport notes what of the club goes out as a file.
func (s *Server) noteExport(r *http.Request, who *visitor, name string) error {
	return s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error { return who.noteOn(r, tx, "export records", name) })
}

func download(w http.ResponseWriter, kind, name string, data []byte) error {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	h.Set("Cache-Control", "private, no-store")
	_, err := w.Write(data)
	return err
}

// upload is a file that somebody sent, with the fields beside it.
type upload struct {
	name string
	data []byte
	form *form
}

// readUpload reads the file in the field "file".
func readUpload(w http.ResponseWriter, r *http.Request, most int64) (*upload, error) {
	r.Body = http.MaxBytesReader(w, r.Body, most+maxForm)
	tooLarge := newProblem(http.StatusRequestEntityTooLarge, "problem.file-too-large", int(most>>10))
	err := r.ParseMultipartForm(1 << 20)
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &tooLong):
		return nil, tooLarge
	case err != nil:
		return nil, newProblem(http.StatusBadRequest, "problem.no-file-came")
	}
	defer func() { _ = r.MultipartForm.RemoveAll() }()
	file, header, err := r.FormFile("file")
	if err != nil {
		return nil, newProblem(http.StatusBadRequest, "problem.no-file-chosen")
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, most+1))
	if err != nil {
		return nil, err
	}
	if int64(len(data)) > most {
		return nil, tooLarge
	}
	if len(data) == 0 {
		return nil, newProblem(http.StatusBadRequest, "problem.empty-file")
	}
	f, err := newForm(r.PostForm)
	if err != nil {
		return nil, err
	}
	if !isText(header.Filename) {
		return nil, newProblem(http.StatusBadRequest, "problem.unreadable")
	}
	return &upload{cut(header.Filename), data, f}, nil
}

// errChecked ends the transaction of an import that was only tried out.
var errChecked = errors.New("only checked")

// importRecords brings a file in, whole or not at all.
func (s *Server) importRecords(w http.ResponseWriter, r *http.Request, who *visitor) error {
	end, err := s.imports.begin(r.Context(), w, who.ClubID)
	if err != nil {
		return err
	}
	defer end()
	u, err := readUpload(w, r, maxRecords)
	if err != nil {
		return err
	}
	only := u.form.values.Get("do") == "check"
	var had *scheduler.Club
	if err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		had, err = tx.Club(r.Context())
		return err
	}); err != nil {
		return err
	}
	say := speaker(had, who.MemberID)
	club, err := parseUpload(u, had)
	var wrong records.Problems
	switch {
	case errors.As(err, &wrong):
		return s.showRecords(w, r, who, http.StatusUnprocessableEntity, recordsView{File: u.name, Problems: wrong.Texts()})
	case err != nil:
		return err
	}
	var done store.Imported
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if done, err = tx.ImportAsking(r.Context(), club); err != nil {
			return err
		}
		if only {
			return errChecked
		}
		if !done.Changed() {
			return nil
		}
		if err := who.note(r, tx, "import records", text.New("audit.about.imported", u.name, imported(done))); err != nil {
			return err
		}
		today, err := tx.Today(r.Context(), s.now())
		if err != nil {
			return err
		}
		if boxesOf(club) > replannedAtOnce {
			return tx.OweReplan(r.Context(), today)
		}
		_, err = tx.ReplanAll(r.Context(), today)
		return err
	})
	switch {
	case errors.Is(err, errChecked):
		return s.showRecords(w, r, who, http.StatusOK, recordsView{File: u.name, Checked: true, Would: imported(done)})
	case err != nil:
		return err
	case !done.Changed():
		return s.done(w, r, "/records", notice{Text: say.Say("page.records.known")})
	}
	return s.done(w, r, "/records", notice{Text: say.Say("page.records.imported", imported(done)), Lines: []string{say.Say("page.records.replanned")}})
}

// parseUpload reads a document or a list of openings into records that Import
// takes. What a document does not say about the club itself stays as it is.
func parseUpload(u *upload, had *scheduler.Club) (*scheduler.Club, error) {
	if !bytes.HasPrefix(bytes.TrimSpace(bytes.TrimPrefix(u.data, []byte("\ufeff"))), []byte("{")) {
		_, err := records.ParseOpenings(u.data, had, records.CSVOptions{CreateBoxes: u.form.has("new_boxes")})
		return had, err
	}
	club, err := records.Parse(u.data)
	if err != nil {
		return nil, err
	}
	var says struct{ Rules json.RawMessage }
	if json.Unmarshal(u.data, &says) == nil && says.Rules == nil {
		club.Rules = scheduler.Rules{}
	}
	if !u.form.has("rename") {
		club.Name = ""
	}
	return club, nil
}

// imported says what an import added or changed.
func imported(i store.Imported) []text.Text {
	var out []text.Text
	for _, n := range []struct {
		n   int
		key string
	}{
		{i.Members, "command.import.members"},
		{i.Kinds, "page.records.kinds"},
		{i.Apiaries, "command.import.apiaries"},
		{i.Hives, "command.import.hives"},
		{i.Boxes, "command.boxes"},
		{i.Openings, "command.import.openings"},
		{i.Visits, "page.records.visits"},
	} {
		if n.n > 0 {
			out = append(out, text.New(n.key, n.n))
		}
	}
	if i.Rules > 0 {
		out = append(out, text.New("page.records.the-rules"))
	}
	return out
}
