package records

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/BurntSushi/toml"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// maxRulesFile is the size in bytes of the largest rules file that is read.
const maxRulesFile = 1 << 18

// ParseRules reads a rules file. Absent keys take the defaults; keys that are
// not known and rules that cannot be are refused with line, value and what is
// allowed. The error is Problems.
func ParseRules(data []byte) (scheduler.Rules, error) {
	f := &rulesFile{rules: scheduler.DefaultRules(), lines: map[string]int{}}
	f.read(bytes.TrimPrefix(data, []byte("\ufeff")))
	if err := f.problems.asError(); err != nil {
		return scheduler.Rules{}, err
	}
	return f.rules, nil
}

type rulesFile struct {
	rules    scheduler.Rules
	meta     toml.MetaData
	lines    map[string]int // of the keys that stand in the file
	problems Problems
}

func (f *rulesFile) read(data []byte) {
	if len(data) > maxRulesFile {
		f.problems = Problems{{Why: text.New("records.why.file-size", len(data)), Allowed: text.New("records.allow.bytes", maxRulesFile)}}
		return
	}
	var top map[string]toml.Primitive
	meta, err := toml.Decode(string(data), &top)
	if err != nil {
		f.problems = Problems{unreadable(err)}
		return
	}
	f.meta = meta
	f.table(top, "")
	if len(f.problems) > 0 {
		return
	}
	for _, p := range f.rules.Validate() {
		wrong := cannotBe(p, p.Key)
		wrong.Line = f.lines[p.Key]
		f.problems = append(f.problems, wrong)
	}
}

// unreadable turns an error of the decoder into a problem with its line.
func unreadable(err error) Problem {
	p := Problem{Why: text.New("records.why.toml", strings.TrimPrefix(err.Error(), "toml: "))}
	var at toml.ParseError
	if errors.As(err, &at) {
		p.Line, p.Column = at.Position.Line, at.Position.Col
		p.Path = at.LastKey
		p.Why = text.New("records.why.toml", at.Message)
	}
	return p
}

// table reads one table, whose keys all begin with prefix.
func (f *rulesFile) table(t map[string]toml.Primitive, prefix string) {
	for _, name := range slices.Sorted(maps.Keys(t)) {
		raw, path := t[name], prefix+name
		line := f.line(raw)
		f.lines[path] = line
		var v any
		if err := f.meta.PrimitiveDecode(raw, &v); err != nil {
			f.problems = append(f.problems, Problem{Line: line, Path: path, Why: literal(err.Error())})
			continue
		}
		bad := func(why string, allowed text.Text) {
			shown := tomlValue(v)
			f.problems = append(f.problems, Problem{Line: line, Path: clip(path), Value: english.Tell(shown), Why: text.New(why, shown), Allowed: allowed})
		}
		k := ruleNamed(prefix, name)
		switch {
		case k != nil:
			if err := setRule(k, &f.rules, plain(v)); err != nil {
				bad("records.why.not-allowed", k.Allowed())
			}
		case !ruleTableNamed(prefix, name):
			bad("records.why.unknown-key", text.New("records.allow.these", rulesUnder(prefix)))
		default:
			var under map[string]toml.Primitive
			_, isTable := v.(map[string]any)
			if err := f.meta.PrimitiveDecode(raw, &under); err != nil || !isTable {
				bad("records.why.kind", text.New("records.allow.table-with", path, rulesUnder(path+".")))
				continue
			}
			f.table(under, path+".")
		}
	}
}

// line asks the decoder where a key stands: it says so in the error of a value
// that refuses to be decoded.
func (f *rulesFile) line(raw toml.Primitive) int {
	var at toml.ParseError
	if err := f.meta.PrimitiveDecode(raw, refusal{}); errors.As(err, &at) {
		return at.Position.Line
	}
	return 0
}

type refusal struct{}

// UnmarshalTOML refuses every value.
func (refusal) UnmarshalTOML(any) error { return errors.New("refused") }

// plain turns a local time of TOML into the text that a rule takes.
func plain(v any) any {
	if t, ok := v.(time.Time); ok && t.Year() == 0 && t.Second() == 0 && t.Nanosecond() == 0 {
		return t.Format("15:04")
	}
	return v
}

func tomlValue(v any) text.Text {
	switch v := v.(type) {
	case string:
		return literal(fmt.Sprintf("%q", v))
	case map[string]any, []map[string]any:
		return text.New("records.a-table")
	case float64:
		if !math.IsInf(v, 0) && !math.IsNaN(v) {
			return literal(short(v))
		}
	case time.Time:
		return literal(v.Format(time.RFC3339))
	}
	return literal(fmt.Sprint(v))
}

// EncodeRules writes a rules file that says every rule in plain words, in the
// language of whoever reads it, with its unit and range. ParseRules reads it
// back to the same rules.
func EncodeRules(r scheduler.Rules, say *text.Speaker) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# %s\n", say.Say("rule-file.head"))
	table := ""
	for _, k := range scheduler.RuleKeys() {
		name := k.Path
		if dot := strings.LastIndex(k.Path, "."); dot >= 0 {
			name = k.Path[dot+1:]
			if k.Path[:dot] != table {
				table = k.Path[:dot]
				fmt.Fprintf(&b, "\n[%s]\n", table)
			}
		}
		fmt.Fprintf(&b, "\n# %s\n# %s\n", say.Tell(k.Words()), say.Say("rule-file.allowed", k.Allowed()))
		if k.Path == "odds_limit" { // which pages write as "1 in 5"
			fmt.Fprintf(&b, "# %s\n", say.Say("rule-file.chance"))
		}
		if k.Get(&r) == nil {
			fmt.Fprintf(&b, "# %s\n# %s = %s\n", say.Say("rule-file.not-set"), name, ruleExample(k.Shape))
			continue
		}
		fmt.Fprintf(&b, "%s = %s\n", name, tomlLiteral(&k, &r))
	}
	return b.Bytes()
}

// ruleExample is what an optional rule could say.
func ruleExample(shape scheduler.RuleShape) string {
	if shape == scheduler.DayOfYearRule {
		return `"04-18"`
	}
	return "44.0"
}

// tomlLiteral writes a number with a decimal point, because TOML tells whole
// numbers and others apart, and readers may.
func tomlLiteral(k *scheduler.RuleKey, r *scheduler.Rules) string {
	value := ruleLiteral(k, r)
	if k.Shape == scheduler.NumberRule && !strings.Contains(value, ".") {
		value += ".0"
	}
	return value
}
