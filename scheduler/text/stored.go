package text

import (
	"encoding/json"
	"fmt"
	"time"
)

// storedText is a Text as it is kept: what was said to one reader is said to
// the next in their own language.
type storedText struct {
	Key  string `json:"key"`
	Args []any  `json:"args,omitempty"`
}

// storedDay is a day among what goes into a kept text.
type storedDay struct {
	On string `json:"day"`
}

// MarshalJSON writes the key and what goes into it. Days keep their day and
// lose their form, words keep their key.
func (t Text) MarshalJSON() ([]byte, error) {
	out := storedText{Key: t.Key}
	for _, a := range t.Args {
		switch x := a.(type) {
		case string, int, Text, []string, []Text:
		case Worded:
			a = New(x.WordKey())
		case dayAs:
			a = dayOf(x.day)
		case Day:
			a = dayOf(x)
		default:
			return nil, fmt.Errorf("text %s: a %T cannot be kept", t.Key, x)
		}
		out.Args = append(out.Args, a)
	}
	return json.Marshal(out)
}

func dayOf(d Day) storedDay {
	year, month, day := d.Civil()
	return storedDay{fmt.Sprintf("%04d-%02d-%02d", year, month, day)}
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (t *Text) UnmarshalJSON(data []byte) error {
	var in struct {
		Key  string
		Args []json.RawMessage
	}
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	*t = Text{Key: in.Key}
	for _, raw := range in.Args {
		a, err := storedArg(raw)
		if err != nil {
			return fmt.Errorf("text %s: %w", in.Key, err)
		}
		t.Args = append(t.Args, a)
	}
	return nil
}

func storedArg(raw json.RawMessage) (any, error) {
	var word string
	if json.Unmarshal(raw, &word) == nil {
		return word, nil
	}
	var n int
	if json.Unmarshal(raw, &n) == nil {
		return n, nil
	}
	var words []string
	if json.Unmarshal(raw, &words) == nil {
		return words, nil
	}
	var texts []Text
	if json.Unmarshal(raw, &texts) == nil {
		return texts, nil
	}
	var day storedDay
	if json.Unmarshal(raw, &day) == nil && day.On != "" {
		on, err := time.Parse(time.DateOnly, day.On)
		return storedCivil{on}, err
	}
	var t Text
	err := json.Unmarshal(raw, &t)
	return t, err
}

// storedCivil is a day that was kept.
type storedCivil struct{ time.Time }

func (c storedCivil) Civil() (year int, month time.Month, day int) { return c.Date() }
