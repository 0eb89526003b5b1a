package text

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// sayers are the functions that take the key of a text, with the place of the
// key among their arguments; what stands behind it goes into the text.
var sayers = map[string]int{
	"Say": 0, "Marked": 0, "New": 0, "complain": 0, "tell": 0, "bad": 1, "newProblem": 1,
}

// builtKeys are beginnings of keys that code completes: the word of a noun of a
// closed list, or what depends on a stage or a reason.
var builtKeys = []string{
	"ago.", "alone.", "audit.", "caution.", "cause.", "checklist.do.entrance-", "checklist.step.", "checklist.why.entrance-", "checklist.why.joint-",
	"checklist.why.outside-", "closed.", "colony.", "command.plan.", "condition.", "cure.", "delivery.", "difficulty.", "fate.", "form.field.", "found.stuck-", "frames.",
	"gap.", "guide.grades.example.", "joint.", "kind.", "lift.", "message.", "owed.", "page.colony.alone-why.", "page.colony.care.", "page.colony.do.", "page.colony.means.", "page.colony.said.", "page.colony.then.", "page.colony.when.", "page.messages.why.", "page.bring-in.words.", "page.rules-back.", "part.", "peg.", "period.after.", "reason.", "region.", "region-where.", "role.", "rule.", "scraped.", "sheet.also.", "sheet.also-degree.", "sheet.also-scraped.", "sheet.column.", "stage.", "status.", "trouble.", "unit.", "verdict.",
}

// sources is what speaks: every Go file but tests, and the templates.
type sources struct {
	literals  map[string]string // every string that looks like a key, and where
	beginning map[string]string // every string that looks like the beginning of one
	calls     []call
}

// call is one text said, with how many arguments; -1 where that is not plain.
type call struct {
	where, key string
	args       int
	problem    bool // of a heading and a text: newProblem
}

var (
	keyShape       = regexp.MustCompile(`^[a-z][a-z-]*(\.[a-z0-9_-]+)+$`)
	beginningShape = regexp.MustCompile(`^[a-z][a-z-]*(\.[a-z0-9-]+)*[.-]$`)
	inTemplate     = regexp.MustCompile(`\b(?:say|marked|forms) "([^"]+)"`)
)

func readSources(t *testing.T) *sources {
	t.Helper()
	s := &sources{literals: map[string]string{}, beginning: map[string]string{}}
	house := os.DirFS("../..")
	err := fs.WalkDir(house, ".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || d.IsDir():
			return err
		case strings.HasSuffix(path, ".html") && strings.HasPrefix(path, "web/pages/"):
			data, err := fs.ReadFile(house, path)
			for _, m := range inTemplate.FindAllStringSubmatch(string(data), -1) {
				s.calls = append(s.calls, call{path, m[1], -1, false})
				s.literals[m[1]] = path
			}
			return err
		case strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go"):
			return s.readGo(house, path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.calls) < 200 {
		t.Fatalf("only %d texts are said: the sources were not found", len(s.calls))
	}
	return s
}

func (s *sources) readGo(house fs.FS, path string) error {
	data, err := fs.ReadFile(house, path)
	if err != nil {
		return err
	}
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, path, data, parser.SkipObjectResolution)
	if err != nil {
		return err
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BasicLit:
			value, err := strconv.Unquote(n.Value)
			if n.Kind != token.STRING || err != nil {
				return true
			}
			where := set.Position(n.Pos()).String()
			if keyShape.MatchString(value) {
				s.literals[value] = where
			}
			if before, _, found := strings.Cut(value, "%"); beginningShape.MatchString(value) || found && beginningShape.MatchString(before) {
				s.beginning[before] = where
			}
		case *ast.CallExpr:
			s.readCall(set, n)
		}
		return true
	})
	return nil
}

func (s *sources) readCall(set *token.FileSet, n *ast.CallExpr) {
	name := ""
	switch f := n.Fun.(type) {
	case *ast.Ident:
		name = f.Name
	case *ast.SelectorExpr:
		name = f.Sel.Name
		if x, ok := f.X.(*ast.Ident); name == "New" && (!ok || x.Name != "text") {
			return // of another package
		}
	}
	at, says := sayers[name]
	if !says || len(n.Args) <= at || name == "bad" && !strings.HasPrefix(set.Position(n.Pos()).Filename, "web/") {
		return // records have a bad of their own
	}
	lit, ok := n.Args[at].(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return
	}
	key, err := strconv.Unquote(lit.Value)
	if err != nil {
		return
	}
	c := call{set.Position(n.Pos()).String(), key, len(n.Args) - at - 1, name == "newProblem"}
	if n.Ellipsis.IsValid() {
		c.args = -1
	}
	s.calls = append(s.calls, c)
}

// Every text that is said exists, and is given what it asks for.
func TestWhatIsSaidExists(t *testing.T) {
	english := tongues[fallback]().texts
	for _, c := range readSources(t).calls {
		key := c.key
		if c.problem {
			if _, ok := english[key+".title"]; !ok {
				t.Errorf("%s: there is no text %s.title", c.where, key)
			}
			key += ".text"
		}
		e, ok := english[key]
		if !ok {
			t.Errorf("%s: there is no text %q", c.where, key)
			continue
		}
		takes := slices.Max(append(slices.Collect(maps.Keys(verbs(e.other))), 0))
		if e.forms != nil {
			takes = max(takes, 1)
		}
		if c.args >= 0 && c.args != takes {
			t.Errorf("%s: %s takes %d arguments and is given %d", c.where, key, takes, c.args)
		}
	}
}

// Every text is said somewhere.
func TestEveryTextIsSaid(t *testing.T) {
	s := readSources(t)
	for _, begin := range builtKeys {
		if _, ok := s.beginning[begin]; !ok {
			t.Errorf("nothing completes %q any more", begin)
		}
	}
	for begin, where := range s.beginning {
		known := slices.Contains(builtKeys, begin)
		for key := range tongues[fallback]().texts {
			if !known && strings.HasPrefix(key, begin) && !strings.HasPrefix(where, "notify/mail/message.go") { // which makes a Message-ID
				t.Errorf("%s completes %q to keys as %s: list it in builtKeys", where, begin, key)
				break
			}
		}
	}
	for key := range tongues[fallback]().texts {
		used := s.literals[key] != ""
		for _, begin := range builtKeys {
			used = used || strings.HasPrefix(key, begin)
		}
		for _, part := range []string{".title", ".text"} {
			if problem, ok := strings.CutSuffix(key, part); ok {
				used = used || s.literals[problem] != ""
			}
		}
		if !used {
			t.Errorf("nothing says %s", key)
		}
	}
}

// saidTwice are words that stand under several keys, since another language
// may say them differently in each place.
var saidTwice = map[string]string{
	"winter":                "a season, and why nothing is opened",
	"entrance":              "a place of gaps, and a step of the checklist",
	"done":                  "a visit, and a step of a migration",
	"from":                  "a day, and a time of day",
	"to":                    "where a box goes, and a time of day",
	"%s to %s":              "days, and numbers",
	"hours":                 "a column, and a unit",
	"Take out":              "one of a list, and files",
	"now":                   "a stage, and rules beside others",
	"Change":                "what is done on a page, and a difference",
	"and %d more":           "visits, and problems of a file",
	"every box opened once": "what is chosen as a rule, and what a stage asks for",
	"Somebody changed it since you opened the page. Nothing was done: look at it again and then decide.": "a visit, and a stack",
}

// Every text stands once, but for headings of pages that say what went wrong.
func TestNoTextStandsTwice(t *testing.T) {
	letters := regexp.MustCompile(`[a-z]{2}`)
	under := map[string][]string{}
	for key, e := range tongues[fallback]().texts {
		if letters.MatchString(verb.ReplaceAllString(e.other, "")) && !strings.HasPrefix(key, "problem.") || strings.HasSuffix(key, ".text") {
			under[e.other] = append(under[e.other], key)
		}
	}
	for said, keys := range under {
		slices.Sort(keys)
		switch _, listed := saidTwice[said]; {
		case len(keys) > 1 && !listed && letters.MatchString(verb.ReplaceAllString(said, "")):
			t.Errorf("%q stands under %v: say it by one key, or list in saidTwice why not", said, keys)
		case len(keys) < 2 && listed:
			t.Errorf("%q stands once: take it off saidTwice", said)
		}
	}
	for said := range saidTwice {
		if under[said] == nil {
			t.Errorf("nothing says %q any more: take it off saidTwice", said)
		}
	}
}
