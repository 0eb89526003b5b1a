package web

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/notebook"
	"pryday/store/records"
)

// checkView is the last step: what would come in, and what would not.
type checkView struct {
	File, Path, Back, Answers, Forget string
	Refusals                          string // address of the list of them
	Asked                             bool   // there are answers to go back to
	Rows                              int
	New                               []text.Text
	Span                              text.Text
	Begun, Unmarked, Stacked, Scraped text.Text
	Days                              text.Text      // read in the order of their column
	Other                             notebook.Order // in which they can be read instead
	Known, Repeated, Ungraded         int
	RefusedMore                       int // rows that the file alone has
	Refused                           []refusalView
	RefusedAll                        int
	Expects                           string
	Problem                           text.Text
}

// refusalView are rows that are refused for the same reasons.
type refusalView struct {
	Rows text.Text
	Says string // what stands in the first of them, to know it by
	Why  []text.Text
}

// How many groups of refused rows a page lists, and rows of one by their numbers; the
// file has all.
const shownRefusals, shownRows = 50, 5

// refusals puts refused rows together that are refused for the same reasons, and says
// how many more there are.
func refusals(all []notebook.Refusal, say *text.Speaker) (out []refusalView, more int) {
	groups := map[string][]notebook.Refusal{}
	var order []string
	for _, r := range all {
		why := strings.Join(reasons(r, say), "\n")
		if groups[why] == nil {
			order = append(order, why)
		}
		groups[why] = append(groups[why], r)
	}
	for i, why := range order {
		rows := groups[why]
		if i >= shownRefusals {
			more += len(rows)
			continue
		}
		var numbers []string
		for _, r := range rows[:min(len(rows), shownRows)] {
			numbers = append(numbers, strconv.Itoa(r.Row))
		}
		v := refusalView{text.New("page.bring-in.row-of", rows[0].Row), firstWords(rows[0].Cells), rows[0].Why}
		switch {
		case len(rows) > shownRows:
			v.Rows = text.New("page.bring-in.rows-of-more", strings.Join(numbers, ", "), len(rows)-shownRows)
		case len(rows) > 1:
			v.Rows = text.New("page.bring-in.rows-of", say.List(numbers))
		}
		out = append(out, v)
	}
	return out, more
}

func reasons(r notebook.Refusal, say *text.Speaker) (out []string) {
	for _, t := range r.Why {
		out = append(out, say.Tell(t))
	}
	return out
}

// expects is what somebody saw before bringing it in.
func expects(res *notebook.Result) string {
	return fmt.Sprintf("%d-%d-%d-%d", res.Openings, res.Boxes, res.Known, len(res.Refused))
}

func (s *Server) showCheck(w http.ResponseWriter, r *http.Request, b *bringing, status int, f *form) error {
	res := b.look()
	if res.Asked.Open() {
		http.Redirect(w, r, b.step("questions"), http.StatusSeeOther)
		return nil
	}
	v := checkView{
		File: b.title(), Path: b.step("check"), Back: b.step("columns"), Answers: b.step("questions"), Forget: b.step("forget"), Refusals: "/bring-in/" + b.ID + "/refused.csv",
		Asked: res.Asked.Any(), Rows: res.Rows, Known: res.Known, Repeated: res.Repeated, Ungraded: res.Ungraded, RefusedAll: len(res.Refused), Expects: expects(res),
	}
	v.New = counted(res)
	if res.Openings > 0 {
		v.Span = text.New("page.bring-in.span", res.First, res.Last)
	}
	if res.Begun > 0 {
		v.Begun = text.New("page.bring-in.begun-says", res.Begun)
	}
	if res.Unmarked > 0 {
		v.Unmarked = text.New("page.bring-in.unmarked-named", res.Unmarked, b.say.List(res.NamedAs))
	}
	if res.Stacked > 0 {
		v.Stacked = text.New("page.bring-in.stacked-says", res.Stacked, b.say.List(res.StackedIn))
	}
	if len(res.Asked.Read) > 0 {
		v.Days, v.Other = daysRead(&res.Asked, b.today)
	}
	switch n := res.Asked.Unscraped; {
	case n > 0 && b.choices.Scraped == notebook.Unsaid:
		v.Scraped = text.New("page.bring-in.scraped-open", n)
	case n > 0:
		v.Scraped = text.New("page.bring-in.scraped-as-says", n, scheduler.Scraped(b.choices.Scraped))
	}
	v.Refused, v.RefusedMore = refusals(res.Refused, b.say)
	if f != nil {
		v.Problem = f.Problems["check"]
	}
	title := "page.bring-in.check"
	if len(v.New) == 0 {
		title = "page.bring-in.left"
	}
	return s.showTo(w, r, b.who, b.club, status, "bring-in-check", b.say.Say(title), v)
}

// daysRead says how days were read that can be read in two ways, by those of their
// column that cannot, and the order in which they were not.
func daysRead(asked *notebook.Asked, today scheduler.Date) (text.Text, notebook.Order) {
	written := asked.Read[0]
	dayFirst, monthFirst, _ := notebook.BothDays(written, today)
	if asked.ReadAs == notebook.MonthFirst {
		return text.New("page.bring-in.days-as-month-first", written, monthFirst), notebook.DayFirst
	}
	return text.New("page.bring-in.days-as-day-first", written, dayFirst), notebook.MonthFirst
}

// counted says what of a table is new.
func counted(res *notebook.Result) (out []text.Text) {
	for _, n := range []struct {
		n   int
		key string
	}{
		{len(res.Apiaries), "command.import.apiaries"},
		{res.Hives, "command.import.hives"},
		{res.Boxes, "command.boxes"},
		{res.Openings, "command.import.openings"},
	} {
		if n.n > 0 {
			out = append(out, text.New(n.key, n.n))
		}
	}
	return out
}

// bringNow brings in all rows that are taken, or none.
func (s *Server) bringNow(w http.ResponseWriter, r *http.Request, b *bringing, f *form) error {
	if order := notebook.Order(f.values.Get("order")); order == notebook.DayFirst || order == notebook.MonthFirst {
		b.choices.ClearOrder = order
		if err := s.keep(r.Context(), b); err != nil {
			return err
		}
		return s.next(w, r, b)
	}
	var res *notebook.Result
	err := s.cfg.Store.InClub(r.Context(), b.who.ClubID, func(tx *store.Tx) error {
		if err := tx.BeginImport(r.Context()); err != nil {
			return err
		}
		if err := b.load(r.Context(), tx, b.ID); err != nil {
			return err
		}
		res = notebook.Read(b.rows(), &b.choices, b.club, b.who.MemberID, b.today)
		switch {
		case res.Asked.Open() || expects(res) != f.values.Get("expects"):
			f.bad("check", "page.bring-in.changed")
		case len(res.Refused) > 0 && !f.has("leave"):
			f.bad("check", "page.bring-in.say-leave")
		}
		if !f.ok() {
			return errChecked
		}
		if _, err := tx.Import(r.Context(), b.club); err != nil {
			return err
		}
		if len(res.Refused) == 0 {
			if err := tx.ForgetUpload(r.Context(), b.ID); err != nil {
				return err
			}
		}
		if err := b.who.note(r, tx, "import records", text.New("audit.about.imported", b.title(), counted(res))); err != nil {
			return err
		}
		if boxesOf(b.club) > replannedAtOnce {
			return tx.OweReplan(r.Context(), b.today)
		}
		_, err := tx.ReplanAll(r.Context(), b.today)
		return err
	})
	if errors.Is(err, errChecked) {
		again, err := s.bringing(r.Context(), b.who, b.ID)
		if err != nil {
			return err
		}
		return s.showCheck(w, r, again, http.StatusUnprocessableEntity, f)
	}
	if err != nil {
		return err
	}
	said := notice{Text: b.say.Say("page.bring-in.done", counted(res)), Lines: []string{b.say.Say("page.records.replanned")}}
	if len(res.Refused) > 0 {
		said.Lines = append(said.Lines, b.say.Say("page.bring-in.left-out", len(res.Refused)))
		return s.done(w, r, b.step("check"), said)
	}
	return s.done(w, r, "/apiaries", said)
}

// refusedRows sends the rows that are not taken as a list, each with why, to be
// mended and brought in again.
func (s *Server) refusedRows(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.withSheet(w, r, who, func(b *bringing) error {
		return download(w, "text/csv; charset=utf-8", "refused.csv", refusedList(b.rows(), b.choices.Heading, b.look().Refused, b.say))
	})
}

// refusedList begins with a byte order mark, and has semicolons where a comma is in
// numbers: so a spreadsheet of that language opens it.
func refusedList(rows [][]string, h notebook.Heading, refused []notebook.Refusal, say *text.Speaker) []byte {
	b := bytes.NewBufferString("\ufeff")
	out := csv.NewWriter(b)
	if strings.Contains(say.Number(0.5, 1), ",") {
		out.Comma = ';'
	}
	write := func(cells ...string) {
		for i := range cells {
			cells[i] = records.Guard(cells[i])
		}
		out.Write(cells) // to memory, which does not fail
	}
	write(append([]string{say.Say("page.bring-in.row"), say.Say("page.bring-in.reason")}, notebook.Headings(rows, h)...)...)
	for _, row := range refused {
		write(append([]string{strconv.Itoa(row.Row), strings.Join(reasons(row, say), " ")}, row.Cells...)...)
	}
	out.Flush()
	return b.Bytes()
}
