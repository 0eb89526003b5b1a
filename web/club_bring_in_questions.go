package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/notebook"
)

// questionsView is the step in which what the table leaves open is asked once.
type questionsView struct {
	File, Path, Back string
	Open             bool
	Looked           bool // places were looked up just now
	Asked            *notebook.Asked
	Choices          *notebook.Choices
	Days             []dayReading
	Evidence         text.Text
	Words            []wordGroup
	Apiaries         []apiaryAsked
	Known            []string
	Scrapings        []choiceName
	Kinds            []choiceName
	SetUp, Today     string
	Zone             string
	Problems         map[string]text.Text
	Nameless         string // the apiary of rows that name none, as a choice
	NamelessName     string // and as a name of a new one
}

// dayReading is a day of the table as each order would read it.
type dayReading struct {
	Written  string
	DayFirst string
	MonFirst string
}

// wordGroup are words of one kind that nobody knows, with what they may mean.
type wordGroup struct {
	Title string
	Words []wordAsked
	Means []choiceName
}

type wordAsked struct {
	Name, Word, Chosen string
	Rows               int
	Problem            text.Text
}

func (s *Server) showQuestions(w http.ResponseWriter, r *http.Request, b *bringing, status int, f *form) error {
	asked := b.look().Asked
	if len(asked.Missing) > 0 {
		http.Redirect(w, r, b.step("columns"), http.StatusSeeOther)
		return nil
	}
	p := apiaryRecords{club: b.club, say: b.say}
	v := questionsView{
		File: b.title(), Path: b.step("questions"), Back: b.step("columns"), Open: asked.Open(), Asked: &asked, Choices: &b.choices,
		Kinds: p.kinds(), Today: b.today.String(),
	}
	if b.choices.GuessedOn == 0 {
		v.SetUp = b.choices.SetUp.String()
	}
	if f != nil {
		v.Problems = f.Problems
	}
	v.Looked = len(b.places) > 0
	for _, day := range asked.Days {
		first, second, _ := notebook.BothDays(day, b.today)
		v.Days = append(v.Days, dayReading{day, b.say.PlainDay(first), b.say.PlainDay(second)})
	}
	switch {
	case asked.DayFirst > 0 && asked.MonFirst > 0:
		v.Evidence = text.New("page.bring-in.days-mixed", asked.DayFirst, asked.MonFirst)
	case asked.DayFirst > 0:
		v.Evidence = text.New("page.bring-in.days-day-first", asked.DayFirst)
	case asked.MonFirst > 0:
		v.Evidence = text.New("page.bring-in.days-month-first", asked.MonFirst)
	}
	v.Scrapings = append(scrapingsMeant(b.say), choiceName{notebook.Unsaid, b.say.Say("page.bring-in.scraped-unsaid")})
	v.Words = b.wordGroups(&asked, v.Kinds, v.Problems)
	for i := range b.club.Apiaries {
		v.Known = append(v.Known, b.club.Apiaries[i].Name)
	}
	if len(b.club.Apiaries) > 0 {
		v.Zone = b.club.Apiaries[0].Timezone
	}
	for _, a := range asked.Apiaries {
		one := b.apiaryAsked(a, v.Zone, v.Problems)
		one.Others = othersThan(asked.Apiaries, a)
		v.Apiaries = append(v.Apiaries, one)
	}
	if v.Nameless = b.choices.Apiary; v.Nameless != "" && v.Nameless != notebook.Refuse && !b.hasApiary(v.Nameless) {
		v.Nameless, v.NamelessName = freshApiary, b.choices.Apiary
	}
	return s.showTo(w, r, b.who, b.club, status, "bring-in-questions", b.say.Say("page.bring-in.questions"), v)
}

// scrapingsMeant are the answers to what was scraped, without that nobody said it.
func scrapingsMeant(say *text.Speaker) (out []choiceName) {
	for _, s := range scrapes(say, "") {
		out = append(out, choiceName{s.Value, s.Word})
	}
	return out
}

// wordGroups are the words that have to be explained, with what each may mean.
func (b *bringing) wordGroups(asked *notebook.Asked, kinds []choiceName, problems map[string]text.Text) (out []wordGroup) {
	say := b.say
	leave := choiceName{notebook.Refuse, say.Say("page.bring-in.leave-rows")}
	var degrees []choiceName
	for d := scheduler.Loose; d <= scheduler.Stuck; d++ {
		digit := string(rune('0' + d))
		degrees = append(degrees, choiceName{digit, digit + " " + say.Word(d)})
	}
	degrees = append(degrees, choiceName{notebook.LeftShut, say.Say("page.hive.left-shut")}, choiceName{notebook.Unsaid, say.Say("page.hive.grid-unsaid")}, leave)
	scrapings := append(scrapingsMeant(say), choiceName{notebook.Unsaid, say.Say("page.hive.grid-unsaid")}, leave)
	for _, g := range []struct {
		key    string
		words  []notebook.Word
		chosen map[string]string
		means  []choiceName
	}{
		{"degree", asked.Degrees, b.choices.Degrees, degrees},
		{"scraping", asked.Scrapings, b.choices.Scrapings, scrapings},
		{"kind", asked.Kinds, b.choices.Kinds, append(slices.Clone(kinds), leave)},
	} {
		if len(g.words) == 0 {
			continue
		}
		group := wordGroup{Title: say.Say("page.bring-in.words." + g.key), Means: g.means}
		for _, word := range g.words {
			name := g.key + ":" + word.Folded
			group.Words = append(group.Words, wordAsked{name, word.Shown, g.chosen[word.Folded], word.Rows, problems[name]})
		}
		out = append(out, group)
	}
	return out
}

// answerQuestions keeps every answer, also where another is missing or wrong.
func (s *Server) answerQuestions(w http.ResponseWriter, r *http.Request, b *bringing, f *form) error {
	asked := b.look().Asked
	b.around = nearBrowser(r, b.club.Member(b.who.MemberID), f.values.Get("zone"))
	if err := b.answer(f, &asked); err != nil {
		return err
	}
	if err := s.keep(r.Context(), b); err != nil {
		return err
	}
	if !f.ok() || len(b.places) > 0 { // what was found of places is for somebody to see
		return s.showQuestions(w, r, b, f.status(), f)
	}
	return s.next(w, r, b)
}

// answer reads the answers to what was asked.
func (b *bringing) answer(f *form, asked *notebook.Asked) error {
	c := &b.choices
	one := func(field string, needed bool, into *string, allowed ...string) {
		if got := f.values.Get(field); slices.Contains(allowed, got) {
			*into = got
		} else if needed {
			f.bad(field, "page.bring-in.answer")
		}
	}
	one("order", len(asked.Days) > 0, (*string)(&c.Order), string(notebook.DayFirst), string(notebook.MonthFirst))
	one("above", asked.Above > 0, &c.Above, notebook.Fill, notebook.Leave)
	one("units", len(asked.Units) > 0, (*string)(&c.Units), string(text.Millimetres), string(text.Inches))
	one("scraped", asked.Unscraped > 0, &c.Scraped, append(names(scrapingsMeant(b.say)), notebook.Unsaid)...)
	one("unmarked", asked.Unmarked > 0, &c.Unmarked, notebook.LowestOf, notebook.Refuse)
	one("stack", len(asked.Stack) > 0, &c.Stack, notebook.BottomUp, notebook.TopDown)
	kinds := names((&apiaryRecords{club: b.club, say: b.say}).kinds())
	one("lowest", len(asked.NoKind) > 0, &c.Lowest, kinds...)
	one("upper", len(asked.NoKind) > 0, &c.Upper, kinds...)
	if asked.NoSetUp > 0 {
		if c.SetUp, c.GuessedOn = f.pastDate("set_up_on", b.today), 0; c.SetUp == 0 && f.Problems["set_up_on"].IsZero() {
			c.SetUp, c.GuessedOn = scheduler.GuessedDay(b.today), b.today
		}
	}
	words := func(group string, asked []notebook.Word, into *map[string]string, allowed ...string) {
		for _, word := range asked {
			var got string
			if one(group+":"+word.Folded, true, &got, allowed...); got != "" {
				if *into == nil {
					*into = map[string]string{}
				}
				(*into)[word.Folded] = got
			}
		}
	}
	words("degree", asked.Degrees, &c.Degrees, "0", "1", "2", "3", "4", notebook.LeftShut, notebook.Unsaid, notebook.Refuse)
	words("scraping", asked.Scrapings, &c.Scrapings, append(names(scrapingsMeant(b.say)), notebook.Unsaid, notebook.Refuse)...)
	words("kind", asked.Kinds, &c.Kinds, append(kinds, notebook.Refuse)...)
	if asked.NoApiary > 0 {
		b.answerNameless(f)
	}
	for _, a := range asked.Apiaries {
		if err := b.answerApiary(f, a); err != nil {
			return err
		}
	}
	for _, a := range asked.Apiaries {
		if like := c.Apiaries[a.Folded].Like; like != "" && c.Apiaries[like].Like != "" { // which one is it, then?
			f.bad("place:"+a.Folded, "page.bring-in.answer")
		}
	}
	for _, a := range asked.Apiaries {
		if looksFor(f, a) { // and nothing else need be answered yet
			f.only(placeParts["place"] + ":" + a.Folded)
		}
	}
	return nil
}

// answerNameless reads which apiary is meant where the table names none: one of the
// club, a new one by its name, or none.
func (b *bringing) answerNameless(f *form) {
	switch got := f.values.Get("apiary"); {
	case got == freshApiary:
		b.choices.Apiary = f.name("apiary_name", 80)
	case got == notebook.Refuse, b.hasApiary(got):
		b.choices.Apiary = got
	default:
		f.bad("apiary", "page.bring-in.answer")
	}
}

func (b *bringing) hasApiary(name string) bool {
	return slices.ContainsFunc(b.club.Apiaries, func(a scheduler.Apiary) bool { return a.Name == name })
}

func names(choices []choiceName) (out []string) {
	for _, c := range choices {
		out = append(out, c.Value)
	}
	return out
}
