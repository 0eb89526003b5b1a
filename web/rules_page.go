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
	Since     text.Text
	Back      []text.Text // what became of the visits that these rules, which held before, put back
	Note      string      // why they were changed, to be kept with the new version
	Tables    []ruleTable
	MayChange bool
	Wrong     string // what is wrong with the whole
	File      string
	Problems  []text.Text  // of an uploaded file
	Season    *rulesSeason // nil for a club without an apiary
	Meanwhile *meanwhileView
}

// ruleTable is a group of rules.
type ruleTable struct {
	ID    string
	Title string
	Text  text.Text // what they are about; zero for nothing to say
	Rules []ruleLine
	Class string // of a stage
	Open  bool
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
	Input   string // "number", "text", "time", "truth", "required", "weekdays"
	Days    []tick // of the week
	Problem text.Text
}

// ruleGroups say what the tables of a rules file are about, in its order.
var ruleGroups = []struct {
	table       string
	title, text text.Text
}{
	{"", text.New("page.rule-group.opening"), text.New("page.rule-group.opening-text")},
	{"hours", text.New("page.rule-group.hours"), text.New("page.rule-group.hours-text")},
	{"capacity", text.New("page.rule-group.capacity"), text.New("page.rule-group.capacity-text")},
	{"gap_mm", text.New("page.rule-group.gaps"), text.New("page.rule-group.gaps-text")},
	{"stage.build-up", text.New(scheduler.BuildUp.WordKey()), text.Text{}},
	{"stage.flow", text.New(scheduler.Flow.WordKey()), text.Text{}},
	{"stage.late-summer", text.New(scheduler.LateSummer.WordKey()), text.Text{}},
	{"stage.autumn", text.New(scheduler.Autumn.WordKey()), text.Text{}},
	{"stage.winter", text.New(scheduler.Winter.WordKey()), text.Text{}},
	{"home", text.New("page.rule-group.home"), text.New("page.rule-group.home-text")},
	{"reminders", text.New("page.rule-group.mail"), text.New("page.rule-group.mail-text")},
}

func tableOf(path string) string {
	if i := strings.LastIndex(path, "."); i >= 0 {
		return path[:i]
	}
	return ""
}

func ruleTables(say *text.Speaker, r *scheduler.Rules, typed func(path string) (string, bool), problems map[string]text.Text) []ruleTable {
	standard := scheduler.DefaultRules()
	at := map[string]int{}
	out := make([]ruleTable, len(ruleGroups))
	for i, g := range ruleGroups {
		at[g.table] = i
		out[i] = ruleTable{ID: "r-" + strings.ReplaceAll(g.table, ".", "-"), Title: capital(say.Tell(g.title)), Text: g.text}
		if stage, ok := strings.CutPrefix(g.table, "stage."); ok {
			out[i].Class = "st-" + stage
		}
	}
	out[0].Open = true
	for i := range scheduler.RuleKeys() {
		k := &scheduler.RuleKeys()[i]
		line := ruleLine{
			ID: "r-" + strings.ReplaceAll(k.Path, ".", "-"), Path: k.Path, Words: say.Tell(k.Words()), Unit: unitOf(say, k),
			Value: scheduler.FormatRule(k.Get(r)), Plain: plainRule(say, k, k.Get(r)), Range: say.Tell(rangeOf(k)), Problem: problems[k.Path],
			Input: inputOf(k),
		}
		if k.Path == "odds_limit" {
			line.Value, line.Range = say.ShortChance(r.OddsLimit), say.Say("page.rule-limit.range", say.ShortChance(0.01), say.ShortChance(0.9))
		}
		if usual := k.Get(&standard); !reflect.DeepEqual(usual, k.Get(r)) && usual != nil {
			line.Default = plainRule(say, k, usual)
		}
		if typed != nil {
			if v, ok := typed(k.Path); ok {
				line.Value = v
			}
		}
		if k.Shape == scheduler.WeekdaysRule {
			set, _ := k.ParseRule(line.Value) // what cannot be is no day
			days, _ := set.(scheduler.WeekdaySet)
			line.Days = weekdayTicks(say, days)
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
	case scheduler.WeekdaysRule:
		return "weekdays"
	}
	return "text"
}

// weekdayTicks are the days of the week to choose from.
func weekdayTicks(say *text.Speaker, chosen scheduler.WeekdaySet) []tick {
	var out []tick
	for _, d := range []int{1, 2, 3, 4, 5, 6, 0} {
		out = append(out, tick{scheduler.WeekdayNames[d], say.Weekdays()[d], chosen&(1<<d) != 0})
	}
	return out
}

// typed is what stands in a field, or all that is ticked there.
func (f *form) typed(field string) string { return strings.Join(f.values[field], ", ") }

// weekdayWords says which days are in a set.
func weekdayWords(say *text.Speaker, set scheduler.WeekdaySet) string {
	var days []string
	for _, d := range weekdayTicks(say, set) {
		if d.Checked {
			days = append(days, d.Word)
		}
	}
	if len(days) == 0 {
		return say.Say("page.rule-list.any-day")
	}
	return say.List(days)
}

// rangeOf says which values a rule takes, where its input does not.
func rangeOf(k *scheduler.RuleKey) text.Text {
	says := k.Allowed()
	switch k.Shape {
	case scheduler.TruthRule, scheduler.RequiredRule, scheduler.ClockRule, scheduler.WeekdaysRule:
		return text.Text{}
	case scheduler.DayOfYearRule:
		return text.New("page.rule-list.day-of-year")
	case scheduler.NumberRule, scheduler.WholeRule:
		says = k.Span()
	}
	if k.Optional {
		return text.New("page.rule-list.may-be-empty", says)
	}
	return says
}

// unitOf is the unit that stands behind a value; nothing for none.
func unitOf(say *text.Speaker, k *scheduler.RuleKey) string {
	if k.Unit == "" {
		return ""
	}
	return say.Say("unit." + k.Unit)
}

// plainRule writes a value for reading.
func plainRule(say *text.Speaker, k *scheduler.RuleKey, v any) string {
	switch x := v.(type) {
	case nil:
		return say.Say("page.rule-list.not-set")
	case bool:
		if x {
			return say.Say("page.rule-list.yes")
		}
		return say.Say("page.rule-list.no")
	case scheduler.Required:
		return say.Tell(requiredWords[x])
	case scheduler.MonthDay:
		return say.YearDay(x.In(2027))
	case scheduler.WeekdaySet:
		return weekdayWords(say, x)
	case []int:
		if len(x) == 0 {
			return say.Say("scraped.none")
		}
	}
	says := scheduler.FormatRule(v)
	switch {
	case k.Path == "odds_limit":
		return say.ShortChance(v.(float64))
	case k.Unit != "":
		return say.Say("page.rule-list.with-unit", says, unitOf(say, k))
	}
	return says
}

var requiredWords = map[scheduler.Required]text.Text{
	scheduler.NothingRequired: text.New("page.rule-list.nothing"),
	scheduler.OpeningRequired: text.New("page.rule-list.opening"),
	scheduler.VisitRequired:   text.New("page.rule-list.visit"),
}

// rulesPage reads what every page about rules starts with.
func (s *Server) rulesPage(r *http.Request, who *visitor) (club *scheduler.Club, held *store.RulesVersion, err error) {
	err = s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		club, held, err = rulesOfClub(r, tx)
		return err
	})
	return club, held, err
}

func rulesOfClub(r *http.Request, tx *store.Tx) (club *scheduler.Club, held *store.RulesVersion, err error) {
	if club, err = tx.Apiaries(r.Context()); err == nil {
		held, err = tx.Rules(r.Context())
	}
	return club, held, err
}

func (s *Server) rules(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	var held *store.RulesVersion
	var back map[scheduler.PutBack]int
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, held, err = rulesOfClub(r, tx); err == nil && held.Restores != 0 {
			back, err = tx.PutBacks(r.Context(), held.Version)
		}
		return err
	})
	if err != nil {
		return err
	}
	v, say := s.newRulesView(club, held, who), speaker(club, who.MemberID)
	v.Tables = ruleTables(say, &held.Rules, nil, nil)
	for _, what := range scheduler.PutBacks {
		if n := back[what]; n > 0 {
			v.Back = append(v.Back, text.New("page.rules-back."+string(what), n))
		}
	}
	return s.showTo(w, r, who, club, http.StatusOK, "rules", say.Say("page.menu.rules"), v)
}

func (s *Server) newRulesView(club *scheduler.Club, held *store.RulesVersion, who *visitor) rulesView {
	return rulesView{
		Season:  s.rulesSeason(club, &held.Rules, speaker(club, who.MemberID)),
		Version: held.Version, Base: held.Version, Since: sinceWhen(held, scheduler.NewNames(club)), MayChange: who.Role == scheduler.Organiser,
	}
}

// sinceWhen says since when a version holds, and by whom.
func sinceWhen(v *store.RulesVersion, names *scheduler.Names) text.Text {
	at, by := scheduler.DateOf(v.At.UTC()), names.Member(v.AuthorID)
	switch {
	case by != "" && v.Note != "":
		return text.New("page.rule-list.since-by-note", at, by, v.Note)
	case by != "":
		return text.New("page.rule-list.since-by", at, by)
	case v.Note != "":
		return text.New("page.rule-list.since-note", at, v.Note)
	}
	return text.New("page.messages.since", at)
}
