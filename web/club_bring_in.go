package web

import (
	"context"
	"errors"
	"io"
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/notebook"
	"pryday/store/sheet"
)

// bringing is a spreadsheet that somebody brings in, as far as it has come.
type bringing struct {
	*store.Upload
	book    sheet.Book
	choices notebook.Choices
	club    *scheduler.Club
	who     *visitor
	say     *text.Speaker
	today   scheduler.Date
	around  string                 // where whoever answers is likely to be: see nearBrowser
	places  map[string]placeChoice // what was looked up just now of new apiaries, by their folded names
}

// rows are those of the table that was chosen.
func (b *bringing) rows() [][]string { return b.book.Sheets[b.choices.Sheet].Rows }

// look says what the table comes to.
func (b *bringing) look() *notebook.Result {
	return notebook.Look(b.rows(), &b.choices, b.club, b.today)
}

// step is the address of a step of it.
func (b *bringing) step(name string) string { return "/bring-in/" + b.ID + "/" + name }

// title is what the file was called.
func (b *bringing) title() string { return uploadName(b.Name, b.say) }

func uploadName(name string, say *text.Speaker) string {
	if name == "" {
		return say.Say("page.bring-in.pasted-cells")
	}
	return name
}

// bringInView is where a spreadsheet is chosen.
type bringInView struct {
	Pasted  string
	Problem text.Text
	Waiting []uploadLine
	Days    int
}

// uploadLine is a spreadsheet that waits to be gone on with.
type uploadLine struct{ Name, Path, By string }

func (s *Server) bringIn(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showBringIn(w, r, who, http.StatusOK, bringInView{})
}

func (s *Server) showBringIn(w http.ResponseWriter, r *http.Request, who *visitor, status int, v bringInView) error {
	var club *scheduler.Club
	var waiting []store.Upload
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if waiting, err = tx.Uploads(r.Context()); err != nil {
			return err
		}
		tx.Last()
		club, err = tx.Apiaries(r.Context())
		return err
	})
	if err != nil {
		return err
	}
	say := speaker(club, who.MemberID)
	names := scheduler.NewNames(club)
	for _, u := range waiting {
		v.Waiting = append(v.Waiting, uploadLine{uploadName(u.Name, say), "/bring-in/" + u.ID, names.Member(u.ByMember)})
	}
	v.Days = store.UploadsKept
	return s.showTo(w, r, who, club, status, "bring-in", say.Say("page.bring-in.title"), v)
}

// takeSheet reads a spreadsheet, chosen or pasted, and keeps what is in it.
func (s *Server) takeSheet(w http.ResponseWriter, r *http.Request, who *visitor) error {
	end, err := s.imports.begin(r.Context(), w, who.ClubID)
	if err != nil {
		return err
	}
	defer end()
	f, err := readUpTo(w, r, sheet.MaxBytes+maxForm, func() error {
		if err := r.ParseMultipartForm(1 << 20); !errors.Is(err, http.ErrNotMultipart) {
			return err
		}
		return nil // cells alone
	})
	if r.MultipartForm != nil {
		defer func() { _ = r.MultipartForm.RemoveAll() }()
	}
	if err != nil {
		return err
	}
	name, data, err := chosenSheet(r, f)
	if err != nil {
		return err
	}
	again := bringInView{Pasted: f.values.Get("pasted")}
	if len(data) == 0 {
		again.Problem = text.New("page.bring-in.nothing")
		return s.showBringIn(w, r, who, http.StatusUnprocessableEntity, again)
	}
	book, err := sheet.Read(data)
	var refused *sheet.Refused
	switch {
	case errors.As(err, &refused):
		again.Problem = refused.Says
		return s.showBringIn(w, r, who, http.StatusUnprocessableEntity, again)
	case err != nil:
		return err
	}
	var id string
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		today, err := tx.Today(r.Context(), s.now())
		if err != nil {
			return err
		}
		id, err = tx.AddUpload(r.Context(), who.MemberID, name, book, suggest(book, today))
		return err
	})
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/bring-in/"+id+"/columns", http.StatusSeeOther)
	return nil
}

// chosenSheet is the file of the form, or else what was pasted.
func chosenSheet(r *http.Request, f *form) (name string, data []byte, err error) {
	file, header, err := r.FormFile("file")
	if err != nil {
		return "", []byte(f.values.Get("pasted")), nil
	}
	defer file.Close()
	if !isText(header.Filename) {
		return "", nil, newProblem(http.StatusBadRequest, "problem.unreadable")
	}
	data, err = io.ReadAll(io.LimitReader(file, sheet.MaxBytes+1))
	if len(data) == 0 {
		return "", []byte(f.values.Get("pasted")), err
	}
	return cut(header.Filename), data, err
}

// suggest begins with the table of the file in which the most columns are known.
func suggest(book *sheet.Book, today scheduler.Date) *notebook.Choices {
	var best *notebook.Choices
	most := -1
	for i := range book.Sheets {
		c := notebook.Suggest(book.Sheets[i].Rows, today)
		c.Sheet = i
		known := 0
		for _, f := range c.Columns {
			if f != "" {
				known++
			}
		}
		if len(book.Sheets[i].Rows) > 0 && known > most {
			best, most = c, known
		}
	}
	return best
}

// bringingStep is one step: what it shows and what it does with an answer.
type bringingStep struct {
	show   func(*Server, http.ResponseWriter, *http.Request, *bringing, int, *form) error
	answer func(*Server, http.ResponseWriter, *http.Request, *bringing, *form) error
}

var bringingSteps map[string]bringingStep

func init() { // the steps lead to each other
	bringingSteps = map[string]bringingStep{
		"columns":   {(*Server).showColumns, (*Server).chooseColumns},
		"questions": {(*Server).showQuestions, (*Server).answerQuestions},
		"check":     {(*Server).showCheck, (*Server).bringNow},
	}
}

// bringInStep shows a step.
func (s *Server) bringInStep(w http.ResponseWriter, r *http.Request, who *visitor) error {
	step, ok := bringingSteps[r.PathValue("step")]
	if !ok {
		return s.nothingHere(w, r)
	}
	return s.withSheet(w, r, who, func(b *bringing) error { return step.show(s, w, r, b, http.StatusOK, nil) })
}

// answerStep does what was answered in a step, or throws the spreadsheet away.
func (s *Server) answerStep(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	if r.PathValue("step") == "forget" {
		if !f.has("sure") {
			return s.askSelf(w, r, who, "page.bring-in.title", f, &question{text.New("page.question.forget-sheet")}, "/bring-in")
		}
		return s.forgetSheet(w, r, who)
	}
	step, ok := bringingSteps[r.PathValue("step")]
	if !ok {
		return s.nothingHere(w, r)
	}
	return s.withSheet(w, r, who, func(b *bringing) error { return step.answer(s, w, r, b, f) })
}

// withSheet reads the spreadsheet of an address, in its club's turn.
func (s *Server) withSheet(w http.ResponseWriter, r *http.Request, who *visitor, do func(*bringing) error) error {
	end, err := s.imports.begin(r.Context(), w, who.ClubID)
	if err != nil {
		return err
	}
	defer end()
	b, err := s.bringing(r.Context(), who, r.PathValue("id"))
	if err != nil {
		return err
	}
	return do(b)
}

// goOn goes to where a spreadsheet was left.
func (s *Server) goOn(w http.ResponseWriter, r *http.Request, _ *visitor) error {
	http.Redirect(w, r, "/bring-in/"+r.PathValue("id")+"/columns", http.StatusSeeOther)
	return nil
}

func (s *Server) forgetSheet(w http.ResponseWriter, r *http.Request, who *visitor) error {
	err := s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		return tx.ForgetUpload(r.Context(), r.PathValue("id"))
	})
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/bring-in", http.StatusSeeOther)
	return nil
}

// bringing reads a spreadsheet of the visitor's club with the records around it.
func (s *Server) bringing(ctx context.Context, who *visitor, id string) (*bringing, error) {
	b := &bringing{who: who}
	err := s.cfg.Store.InSnapshot(ctx, who.ClubID, func(tx *store.Tx) error { return b.load(ctx, tx, id) })
	if errors.Is(err, store.ErrNotFound) {
		return nil, newProblem(http.StatusNotFound, "problem.no-upload")
	}
	if err != nil {
		return nil, err
	}
	b.say, b.today = speaker(b.club, who.MemberID), b.club.Today(s.now())
	return b, nil
}

func (b *bringing) load(ctx context.Context, tx *store.Tx, id string) (err error) {
	if b.Upload, err = tx.Upload(ctx, id, &b.book, &b.choices); err != nil {
		return err
	}
	b.club, err = tx.Club(ctx)
	return err
}

// keep keeps what was said about the spreadsheet so far.
func (s *Server) keep(ctx context.Context, b *bringing) error {
	return s.cfg.Store.InClub(ctx, b.who.ClubID, func(tx *store.Tx) error { return tx.ChooseForUpload(ctx, b.ID, b.choices) })
}

// next goes to the questions that are open, or to the check.
func (s *Server) next(w http.ResponseWriter, r *http.Request, b *bringing) error {
	to := "check"
	if asked := b.look().Asked; asked.Open() {
		to = "questions"
	}
	http.Redirect(w, r, b.step(to), http.StatusSeeOther)
	return nil
}
