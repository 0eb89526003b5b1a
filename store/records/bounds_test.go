package records

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
)

// many is a document of about size bytes that repeats an item between two ends.
func many(head, item, tail string, size int) []byte {
	n := max((size-len(head)-len(tail))/(len(item)+1), 1)
	return []byte(head + strings.TrimSuffix(strings.Repeat(item+",", n), ",") + tail)
}

// allocated is what f takes from the heap in all, which is more than it ever
// holds at once.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// TestHostileDocumentsCostNoMoreThanHonestOnes: not twice the memory of a club's
// export of that size.
func TestHostileDocumentsCostNoMoreThanHonestOnes(t *testing.T) {
	honest, err := Encode(bigClub())
	if err != nil {
		t.Fatal(err)
	}
	size := len(honest)
	limit := 2 * allocated(func() {
		if _, err := Parse(honest); err != nil {
			t.Fatal(err)
		}
	})
	const club = `{"club":{"name":"A","members":[`
	for name, doc := range map[string][]byte{
		"members of nothing":  many(club, "{}", "]}}", size),
		"members of null":     many(club, "null", "]}}", size),
		"members of numbers":  many(club, "0", "]}}", size),
		"one member":          many(club, `{"name":"a","email":"a@example.org","role":"keeper"}`, `]},"apiaries":[]}`, size),
		"lists in lists":      many(club, strings.Repeat("[", 20)+strings.Repeat("]", 20), "]}}", size),
		"objects in objects":  many(club, strings.Repeat(`{"a":`, 20)+"1"+strings.Repeat("}", 20), "]}}", size),
		"keys":                many(club, `{"a":1,"b":1,"c":1,"d":1,"e":1,"f":1,"g":1}`, "]}}", size),
		"one key":             many(club+"{", `"a":1`, "}]}}", size),
		"apiaries":            many(`{"club":{"name":"A","members":[]},"apiaries":[`, `{"name":"a"}`, "]}", size),
		"hives":               many(`{"club":{"name":"A","members":[]},"apiaries":[{"name":"a","hives":[`, `{"name":"a"}`, "]}]}", size),
		"boxes in store":      many(`{"club":{"name":"A","members":[]},"apiaries":[],"boxes":[`, `{"name":"a"}`, "]}", size),
		"visits":              many(`{"club":{"name":"A","members":[]},"apiaries":[],"visits":[`, `{"on":"2027-05-01","boxes":[{},{}]}`, "]}", size),
		"a name":              []byte(club + `{"name":"` + strings.Repeat("🐝", size/4) + `"}]}}`),
		"escapes":             []byte(club + `{"name":"` + strings.Repeat(`\"`, size/2) + `"}]}}`),
		"brackets in a text":  []byte(club + `{"name":"` + strings.Repeat(`[{,`, size/3) + `"}]}}`),
		"brackets never shut": []byte(strings.Repeat("[", size)),
		"lines":               []byte(club + strings.Repeat("\n", size) + "{}]}}"),
		"a number":            []byte(club + strings.Repeat("1", size) + "]}}"),
	} {
		var err error
		got := allocated(func() { _, err = Parse(doc) })
		refused(t, err)
		if got > limit {
			t.Errorf("%s: %d bytes took %d from the heap, more than %d", name, len(doc), got, limit)
		}
	}
}

func TestTooManyValuesAreRefusedAtTheFirst(t *testing.T) {
	doc := many(`{"club":{"name":"A","members":[`, "\n0", "]}}", 30_000)
	most := fewValues + len(doc)/leastOfEach
	_, err := Parse(doc)
	want := fmt.Sprintf("line %d, column 2: is not a records document: more than %d values, which is more than a file of this size holds", most-3, most)
	if err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// Commas and brackets that stand in texts are no values, whatever is before them.
func TestCountValues(t *testing.T) {
	for doc, want := range map[string]int{
		`1`:                                    1,
		`{"a": [1, 2, {"b": null}], "c": ""}`:  7,
		`["[,{", "\"[,{", "\\", ",", "\\\","]`: 6,
	} {
		r := &reader{data: []byte(doc)}
		r.tree()
		if n, _ := countValues(r.data, 100); n != want || len(r.nodes) != want {
			t.Errorf("%s: counted %d, read %d, want %d", doc, n, len(r.nodes), want)
		}
	}
}

// The reading ends with the last problem that is kept, wherever it stands.
func TestEnoughProblems(t *testing.T) {
	for name, doc := range map[string][]byte{
		"document": many(`{"club":{"name":"A","members":[`, "{}", "]}}", 2000),
		"one line": many(`{"club":{"name":"A","members":[]},"apiaries":[`, `{"name":"ä"}`, "]}", 300_000),
	} {
		_, err := Parse(doc)
		ps, ok := err.(Problems) //nolint:errorlint // it is that itself
		if !ok || len(ps) != keptProblems {
			t.Fatalf("%s: %d problems, want %d", name, len(ps), keptProblems)
		}
		for _, p := range ps {
			before := []rune(string(doc))[:p.Column-1]
			if next := []rune(string(doc))[p.Column-1]; next != '{' && next != '"' {
				t.Fatalf("%s: %s points behind %q at %q", name, p, string(before[max(0, len(before)-20):]), next)
			}
		}
	}
}
