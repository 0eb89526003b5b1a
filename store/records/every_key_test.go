package records

import (
	"encoding/json"
	"errors"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// values returns every value of the example below the top, and where it ends.
func values(t *testing.T) (all []*node, ends map[*node]int) {
	t.Helper()
	r := &reader{data: []byte(example)}
	root := r.tree()
	ends = map[*node]int{}
	var walk func(n *node)
	walk = func(n *node) {
		for item := range n.items() {
			d := json.NewDecoder(strings.NewReader(example[item.offset:]))
			var raw json.RawMessage
			if err := d.Decode(&raw); err != nil {
				t.Fatal(err)
			}
			ends[item] = int(item.offset) + int(d.InputOffset())
			all = append(all, item)
			walk(item)
		}
	}
	walk(root)
	if len(all) < 190 {
		t.Fatalf("the example has only %d values", len(all))
	}
	return all, ends
}

// problemAt reports whether one of the problems is of a path.
func problemAt(err error, path string) bool {
	var ps Problems
	return errors.As(err, &ps) && slices.ContainsFunc(ps, func(p Problem) bool { return p.Path == path && p.Line > 0 })
}

func TestEveryValueOfAnotherKindIsRefusedByItsPath(t *testing.T) {
	all, ends := values(t)
	others := map[kind]string{isNull: "null", isBool: "true", isNumber: "1", isString: `"a"`, isObject: `{"a": 1}`, isArray: "[1]"}
	for _, n := range all {
		for k, text := range others {
			degree := n.key == "frames" || n.key == "joint" && k == isNull
			if k == n.kind || n.key == "scraped" && k == isNull || degree && n.parent.field("on") != nil && (k == isNull || k == isNumber) {
				continue
			}
			_, err := Parse([]byte(example[:n.offset] + text + example[ends[n]:]))
			if !problemAt(err, n.path()) && !problemAt(err, n.path()+".a") {
				t.Errorf("%s is %s: %v", n.path(), text, err)
			}
		}
	}
}

func TestWhichKeysAreRequired(t *testing.T) {
	required := map[string]bool{}
	for _, path := range []string{
		"club", "club.name", "club.members", "club.members[].name", "club.members[].email", "club.members[].role",
		"club.members[].preferences.visit_hours.from", "club.members[].preferences.visit_hours.until", "club.members[].no_go[].from",
		"club.kinds[].name", "club.kinds[].depth_mm", "club.kinds[].empty_kg", "club.kinds[].full_kg", "club.kinds[].frames",
		"apiaries", "apiaries[].name", "apiaries[].latitude", "apiaries[].longitude", "apiaries[].elevation_m", "apiaries[].timezone", "apiaries[].hives",
		"apiaries[].no_go[].from", "apiaries[].standstill[].from",
		"apiaries[].hives[].name", "apiaries[].hives[].boxes", "apiaries[].hives[].leave_alone[].from",
		"apiaries[].hives[].events[].id", "apiaries[].hives[].events[].on", "apiaries[].hives[].events[].what", "apiaries[].hives[].events[].boxes[].box",
		"apiaries[].hives[].events[].boxes[].position", "apiaries[].hives[].events[].under[].box", "apiaries[].hives[].events[].alone.from",
		"apiaries[].hives[].boxes[].name", "apiaries[].hives[].boxes[].kind", "apiaries[].hives[].boxes[].set_up_on", "apiaries[].hives[].boxes[].openings",
		"apiaries[].hives[].boxes[].places[].from", "apiaries[].hives[].boxes[].places[].where",
		"apiaries[].hives[].boxes[].openings[].on", "apiaries[].hives[].boxes[].openings[].joint", "apiaries[].hives[].boxes[].openings[].scraped",
		"apiaries[].hives[].boxes[].openings[].gaps[].at", "apiaries[].hives[].boxes[].openings[].gaps[].mm",
		"boxes[].name", "boxes[].kind", "boxes[].set_up_on", "boxes[].openings", "boxes[].places[].from", "boxes[].places[].where",
		"club.recalibration.made_on", "club.recalibration.openings", "club.recalibration.hard", "club.recalibration.stuck",
		"club.recalibration.hard.intercept", "club.recalibration.hard.slope", "club.recalibration.stuck.intercept", "club.recalibration.stuck.slope",
		"apiaries[].hives[].boxes[].openings[].said.made_on", "apiaries[].hives[].boxes[].openings[].said.openings",
		"apiaries[].hives[].boxes[].openings[].said.hard", "apiaries[].hives[].boxes[].openings[].said.stuck",
		"apiaries[].hives[].boxes[].openings[].said.model_hard", "apiaries[].hives[].boxes[].openings[].said.model_stuck",
		"told[].member", "told[].kind", "told[].told_on",
		"visits[].apiary", "visits[].on", "visits[].status", "visits[].boxes[].box", "visits[].not_boxes[].box", "visits[].not_opened[].box", "visits[].ticks[].step", "visits[].ticks[].on",
	} {
		required[path] = false
	}
	// Without one of these something else has no answer left, and that is said.
	instead := map[string]string{
		"told[].visit": ".visit", "told[].apiary": ".visit",
		"apiaries[].hives[].boxes[].openings[].difficulty": ".joint",
		"apiaries[].hives[].boxes[].openings[].left_shut":  ".joint",
		"apiaries[].hives[].boxes[].openings[].void":       ".joint",
		"apiaries[].hives[].boxes[].openings[].supersedes": ".void",
		"apiaries[].hives[].boxes[].openings[].gaps[].peg": ".mm",
	}
	// And without these, what names them names nothing, or one name stands twice.
	named := regexp.MustCompile(`^(visits|visits\[\]\.uid|club\.members\[\]\.apiaries|club\.kinds|boxes|apiaries\[\]\.hives\[\]\.boxes\[\]\.openings\[\]\.id|.*\.(apiary|hive)|.*boxes\[\]\.retired_on)$`)
	index := regexp.MustCompile(`\[\d+\]`)
	all, ends := values(t)
	for _, n := range all {
		if n.parent.kind != isObject {
			continue
		}
		path := index.ReplaceAllString(n.path(), "[]")
		key := strings.LastIndex(example[:n.offset], `"`+n.key+`"`)
		cut := example[:key] + example[ends[n]:]
		cut = regexp.MustCompile(`,(\s*)([}\]])`).ReplaceAllString(cut, "$1$2")
		cut = regexp.MustCompile(`([{,])(\s*),`).ReplaceAllString(cut, "$1$2")
		_, err := Parse([]byte(cut))
		_, must := required[path]
		switch {
		case must && problemAt(err, n.path()):
			required[path] = true
		case must:
			t.Errorf("%s is required, but without it: %v", n.path(), err)
		case instead[path] != "":
			if !problemAt(err, n.parent.path()+instead[path]) {
				t.Errorf("without %s: %v", n.path(), err)
			}
		case err != nil && !named.MatchString(path):
			t.Errorf("%s may be left out, but without it: %v", n.path(), err)
		}
	}
	for path, seen := range required {
		if !seen {
			t.Errorf("no example of %s", path)
		}
	}
}
