package text

import (
	"encoding/json"
	"testing"
	"time"
)

type stage string

func (s stage) WordKey() string { return "stage." + string(s) }

// A text that was kept is said as the text that it was, in every language.
func TestKeptTextsAreSaidAsTheyWere(t *testing.T) {
	for name, was := range map[string]Text{
		"no arguments":  New("passed.done"),
		"a name":        New("owed.invited-by", "Ada {\"key\": 1}"),
		"a number":      New("command.boxes", 3),
		"a day":         New("passed.moved", on(2027, time.March, 6)),
		"a word":        New("passed.muted", stage("flow")),
		"a text in it":  New("audit.about.imported", "a.json", New("command.boxes", 1)),
		"a list":        New("audit.about.imported", "a.json", []Text{New("command.boxes", 1), New("command.boxes", 2)}),
		"a list, names": New("audit.about.imported", "a.json", []string{"A", "B"}),
	} {
		data, err := json.Marshal(was)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var kept Text
		if err := json.Unmarshal(data, &kept); err != nil {
			t.Errorf("%s: %s: %v", name, data, err)
			continue
		}
		for _, tag := range whole() {
			if got, want := In(tag, "").Tell(kept), In(tag, "").Tell(was); got != want {
				t.Errorf("%s in %s: %q, was %q", name, tag, got, want)
			}
		}
	}
	if _, err := json.Marshal(New("passed.done", 1.5)); err == nil {
		t.Error("a number with decimals was kept, which would come back as none")
	}
}
