package web

import (
	"net/http"
	"reflect"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// rulesView is the club's rules, to read or to change.
type rulesView struct {
	Version   int
	Base      int // the version that the form shown was made from
	Since     string
	Note      string // why they were changed, to be kept with the new version
	Tables    []ruleTable
	MayChange bool
	Wrong     string // what is wrong with the whole
	File      string
	Problems  []string // of an uploaded file
	Meanwhile *meanwhileView
}

// ruleTable is a group of rules.
type ruleTable struct {
	ID, Title, Text string
	Rules           []ruleLine
	Class           string // of a stage
	Open            bool
}

// ruleLine is one rule as a form shows it.
type ruleLine struct {
	ID      string
	Path    string
	Words   string
	Value   string // as it is typed
	Plain   string // as it is read
	Unit    string
	Range   string
	Default string // where Value is not it
	Input   string // "number", "text", "time", "truth", "required"
	Problem text.Text
}

// ruleGroups say what the tables of a rules file are about, in its order.
var ruleGroups = []struct{ table, title, text string }{
	{"", "When a box is opened", "The day by which a box must be opened comes from how hard it was before; these rules say how much is risked, and what is never done."},
	{"hours", "What work costs", "Visits are put together so that these hours are saved."},
	{"gap_mm", "Bee space", "A gap narrower than this is glued, a wider one is filled with comb."},
	{"stage.build-up", "Build-up", ""},
	{"stage.flow", "Flow", ""},
	{"stage.late-summer", "Late summer", ""},
	{"stage.autumn", "Autumn", ""},
	{"stage.winter", "Winter", ""},
	{"home", "Where the club's own dates were seen", "Only needed when a stage above has a start of the club's own: other apiaries' dates are moved by four days a degree of latitude, and by height."},
	{"reminders", "Mail", "Members can choose other days and hours for themselves."},
}

func tableOf(path string) string {
	if i := strings.LastIndex(path, "."); i >= 0 {
		return path[:i]
	}
	return ""
}

func ruleTables(r *scheduler.Rules, typed func(path string) (string, bool), problems map[string]text.Text) []ruleTable {
	standard := scheduler.DefaultRules()
	at := map[string]int{}
	out := make([]ruleTable, len(ruleGroups))
	for i, g := range ruleGroups {
		at[g.table] = i
		out[i] = ruleTable{ID: "r-" + strings.ReplaceAll(g.table, ".", "-"), Title: g.title, Text: g.text}
		if stage, ok := strings.CutPrefix(g.table, "stage."); ok {
			out[i].Class = "st-" + stage
		}
	}
	out[0].Open = true
	for i := range scheduler.RuleKeys() {
		k := &scheduler.RuleKeys()[i]
		line := ruleLine{
			ID: "r-" + strings.ReplaceAll(k.Path, ".", "-"), Path: k.Path, Words: k.Words, Unit: k.Unit,
			Value: scheduler.FormatRule(k.Get(r)), Plain: plainRule(k, k.Get(r)), Range: rangeOf(k), Problem: problems[k.Path],
			Input: inputOf(k),
		}
		if usual := k.Get(&standard); !reflect.DeepEqual(usual, k.Get(r)) && usual != nil {
			line.Default = plainRule(k, usual)
		}
		if typed != nil {
			if v, ok := typed(k.Path); ok {
				line.Value = v
			}
		}
		t := &out[at[tableOf(k.Path)]]
		t.Rules = append(t.Rules, line)
		t.Open = t.Open || !line.Problem.IsZero()
	}
	return out
}

func inputOf(k *scheduler.RuleKey) string {
	switch k.Shape {
	case scheduler.NumberRule, scheduler.WholeRule:
		return "number"
	case scheduler.ClockRule:
		return "time"
	case scheduler.TruthRule:
		return "truth"
	case scheduler.RequiredRule:
		return "required"
	}
	return "text"
}

// rangeOf says which values a rule takes, where its input does not.
func rangeOf(k *scheduler.RuleKey) string {
	switch k.Shape {
	case scheduler.TruthRule, scheduler.RequiredRule, scheduler.ClockRule:
		return ""
	case scheduler.DayOfYearRule:
		return "month and day, as 04-18; empty takes the table of latitudes"
	}
	text := strings.Replace(k.Allowed(), "a number, ", "", 1)
	text = strings.Replace(text, "a whole number, ", "", 1)
	if k.Optional {
		text += "; may be empty"
	}
	return text
}

// plainRule writes a value for reading.
func plainRule(k *scheduler.RuleKey, v any) string {
	switch x := v.(type) {
	case nil:
		return "not set"
	case bool:
		if x {
			return "yes"
		}
		return "no"
	case scheduler.Required:
		return requiredWords[x]
	case scheduler.MonthDay:
		return x.In(2027).Format("2 January")
	case []int:
		if len(x) == 0 {
			return "none"
		}
	}
	says := scheduler.FormatRule(v)
	switch {
	case k.Path == "odds_limit":
		says += ", " + text.In("en", "").Chance(v.(float64))
	case k.Unit != "":
		says += " " + k.Unit
	}
	return says
}

var requiredWords = map[scheduler.Required]string{
	scheduler.NothingRequired: "nothing",
	scheduler.OpeningRequired: "every box opened once",
	scheduler.VisitRequired:   "one visit to the apiary",
}

// rulesPage reads what every page about rules starts with.
func (s *Server) rulesPage(r *http.Request, who *visitor) (club *scheduler.Club, held *store.RulesVersion, err error) {
	err = s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err == nil {
			held, err = tx.Rules(r.Context())
		}
		return err
	})
	return club, held, err
}

func (s *Server) rules(w http.ResponseWriter, r *http.Request, who *visitor) error {
	club, held, err := s.rulesPage(r, who)
	if err != nil {
		return err
	}
	v := newRulesView(club, held, who)
	v.Tables = ruleTables(&held.Rules, nil, nil)
	return s.showTo(w, r, who, club, http.StatusOK, "rules", "Rules", v)
}

func newRulesView(club *scheduler.Club, held *store.RulesVersion, who *visitor) rulesView {
	return rulesView{
		Version: held.Version, Base: held.Version, Since: sinceWhen(held, scheduler.NewNames(club)), MayChange: who.Role == scheduler.Organiser,
	}
}

// sinceWhen says since when a version holds, and by whom.
func sinceWhen(v *store.RulesVersion, names *scheduler.Names) string {
	text := "since " + v.At.UTC().Format("2 January 2006")
	if by := names.Member(v.AuthorID); by != "" {
		text += ", by " + by
	}
	if v.Note != "" {
		text += ": " + v.Note
	}
	return text
}

// rulesOf reads rules from a form that shows every one of them.
func rulesOf(f *form) scheduler.Rules {
	r := scheduler.DefaultRules()
	typed := func(path string) string { return strings.TrimSpace(f.values.Get(path)) }
	lat, height := typed("home.latitude"), typed("home.elevation_m")
	if (lat == "") != (height == "") {
		f.bad("home.latitude", "form.place-both")
	}
	for i := range scheduler.RuleKeys() {
		k := &scheduler.RuleKeys()[i]
		text := typed(k.Path)
		if text == "" && k.Optional {
			if tableOf(k.Path) != "home" || lat == "" && height == "" {
				k.Clear(&r)
			}
			continue
		}
		if k.Shape == scheduler.NumberRule {
			text = strings.Replace(text, ",", ".", 1)
		}
		v, err := k.ParseRule(text)
		if err == nil {
			err = k.Set(&r, v)
		}
		if err != nil {
			f.bad(k.Path, "form.rule", cut(text), err.Error())
		}
	}
	if f.ok() {
		for _, p := range r.Validate() {
			f.bad(p.Key, "form.rule", p.Value, p.Allowed)
		}
	}
	return r
}

// wrongRules shows the form again with what is wrong in it.
func (s *Server) wrongRules(w http.ResponseWriter, r *http.Request, who *visitor, f *form, base int, wrong string) error {
	club, held, err := s.rulesPage(r, who)
	if err != nil {
		return err
	}
	v := newRulesView(club, held, who)
	v.Note, v.Wrong, v.Base = f.values.Get("note"), wrong, base
	v.Tables = ruleTables(&held.Rules, func(path string) (string, bool) {
		_, ok := f.values[path]
		return f.values.Get(path), ok
	}, f.Problems)
	return s.showTo(w, r, who, club, http.StatusUnprocessableEntity, "rules", "Rules", v)
}
