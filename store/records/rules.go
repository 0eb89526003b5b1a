package records

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// rules reads the rules object; a nil n means the defaults.
func (p *parser) rules(n *node) scheduler.Rules {
	out := scheduler.DefaultRules()
	if n == nil {
		return out
	}
	before := len(p.problems)
	at := map[string]*node{}
	p.ruleTable(n, "", &out, at)
	if len(p.problems) > before {
		return out
	}
	for _, problem := range out.Validate() {
		if v := at[problem.Key]; v != nil {
			p.bad(v, "records.why.cannot-be", problem.Allowed)
			continue
		}
		p.report(int(n.offset), cannotBe(problem, joinPath(n.path(), problem.Key)))
	}
	return out
}

// cannotBe is the problem of a rule that does not go with the others.
func cannotBe(p scheduler.RuleProblem, path string) Problem {
	return Problem{Path: path, Value: p.Value, Why: text.New("records.why.cannot-be", p.Value), Allowed: p.Allowed}
}

// ruleTable reads one object of rules, whose keys all begin with prefix.
func (p *parser) ruleTable(n *node, prefix string, out *scheduler.Rules, at map[string]*node) {
	if n.kind != isObject {
		p.bad(n, "records.why.kind", text.New("records.allow.object-with", rulesUnder(prefix)))
		return
	}
	for f := range n.items() {
		path := prefix + f.key
		if k := ruleNamed(prefix, f.key); k != nil {
			at[path] = f
			if err := setRule(k, out, f.value()); err != nil {
				p.bad(f, "records.why.not-allowed", k.Allowed())
			}
			continue
		}
		if !ruleTableNamed(prefix, f.key) {
			p.bad(f, "records.why.unknown-key", text.New("records.allow.these", rulesUnder(prefix)))
			continue
		}
		p.ruleTable(f, path+".", out, at)
	}
}

// ruleNamed returns the rule that a name stands for in the table of prefix, or
// nil. A name with a dot, which only quotes allow, is none.
func ruleNamed(prefix, name string) *scheduler.RuleKey {
	if strings.Contains(name, ".") {
		return nil
	}
	return scheduler.FindRuleKey(prefix + name)
}

// ruleTableNamed reports whether a name stands for a table in that of prefix.
func ruleTableNamed(prefix, name string) bool {
	return !strings.Contains(name, ".") && rulesUnder(prefix+name+".") != ""
}

// rulesUnder lists the keys and tables that begin with prefix, without it.
func rulesUnder(prefix string) string {
	var names []string
	for _, k := range scheduler.RuleKeys() {
		rest, ok := strings.CutPrefix(k.Path, prefix)
		if !ok {
			continue
		}
		name, _, _ := strings.Cut(rest, ".")
		if len(names) == 0 || names[len(names)-1] != name {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

// value is n as a plain Go value: bool, int64, float64, string or []any.
func (n *node) value() any {
	switch n.kind {
	case isBool:
		return n.text == "true"
	case isString:
		return n.text
	case isNumber:
		if v, err := strconv.ParseInt(n.text, 10, 64); err == nil {
			return v
		}
		if v, err := strconv.ParseFloat(n.text, 64); err == nil {
			return v
		}
	case isArray:
		list := make([]any, 0, n.count)
		for item := range n.items() {
			list = append(list, item.value())
		}
		return list
	}
	return nil
}

// setRule puts a plain value under a rule's key, if the key takes it.
func setRule(k *scheduler.RuleKey, r *scheduler.Rules, v any) error {
	switch x := v.(type) {
	case int64:
		switch {
		case k.Shape == scheduler.NumberRule:
			v = float64(x)
		case x >= math.MinInt32 && x <= math.MaxInt32:
			v = int(x)
		}
	case string:
		switch k.Shape {
		case scheduler.RequiredRule:
			if x == "none" {
				x = ""
			}
			v = scheduler.Required(x)
		case scheduler.ClockRule:
			if c, err := scheduler.ParseClockTime(x); err == nil {
				v = c
			}
		case scheduler.DayOfYearRule:
			if m, err := scheduler.ParseMonthDay(x); err == nil {
				v = m
			}
		}
	case []any:
		if k.Shape == scheduler.WeekdaysRule {
			return setWeekdays(k, r, x)
		}
		list := make([]int, 0, len(x))
		for _, item := range x {
			i, ok := item.(int64)
			if !ok || i < 0 || i > math.MaxInt32 {
				return k.Set(r, nil) // refused in the key's own words
			}
			list = append(list, int(i))
		}
		v = list
	}
	return k.Set(r, v)
}

func setWeekdays(k *scheduler.RuleKey, r *scheduler.Rules, list []any) error {
	names := make([]string, len(list))
	for i, item := range list {
		names[i], _ = item.(string)
	}
	set, ok := scheduler.ParseWeekdays(names)
	if !ok {
		return k.Set(r, nil) // refused in the key's own words
	}
	return k.Set(r, set)
}

// rulesObject writes the rules as compact JSON, tables in the order of the
// keys.
func rulesObject(r *scheduler.Rules) json.RawMessage {
	var b bytes.Buffer
	writeRules(&b, r, scheduler.RuleKeys(), "")
	return b.Bytes()
}

func writeRules(b *bytes.Buffer, r *scheduler.Rules, keys []scheduler.RuleKey, prefix string) {
	b.WriteByte('{')
	first := true
	for i := 0; i < len(keys); i++ {
		k := &keys[i]
		name, _, isTable := strings.Cut(strings.TrimPrefix(k.Path, prefix), ".")
		end := i + 1
		for isTable && end < len(keys) && strings.HasPrefix(keys[end].Path, prefix+name+".") {
			end++
		}
		table := keys[i:end]
		i = end - 1
		if !anySet(r, table) {
			continue
		}
		if !first {
			b.WriteByte(',')
		}
		first = false
		b.WriteString(strconv.Quote(name) + ":")
		if isTable {
			writeRules(b, r, table, prefix+name+".")
		} else {
			b.WriteString(ruleLiteral(k, r))
		}
	}
	b.WriteByte('}')
}

func anySet(r *scheduler.Rules, keys []scheduler.RuleKey) bool {
	for i := range keys {
		if keys[i].Get(r) != nil {
			return true
		}
	}
	return false
}

// ruleLiteral writes a rule's value as JSON and TOML both have it.
func ruleLiteral(k *scheduler.RuleKey, r *scheduler.Rules) string {
	text := scheduler.FormatRule(k.Get(r))
	switch k.Shape {
	case scheduler.RequiredRule, scheduler.ClockRule, scheduler.DayOfYearRule:
		return strconv.Quote(text)
	case scheduler.WholesRule:
		return "[" + text + "]"
	case scheduler.WeekdaysRule:
		if text == "" {
			return "[]"
		}
		return `["` + strings.ReplaceAll(text, ", ", `", "`) + `"]`
	}
	return text
}
