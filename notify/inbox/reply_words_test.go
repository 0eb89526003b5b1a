package inbox

import (
	"testing"

	"pryday/scheduler/text"
)

func TestAnswerIn(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		text string
		says saying
		more bool
	}{
		{"I'll go", accepted, false},
		{"  i’LL GO!! ", accepted, false},
		{"Yes, of course. Thanks!", accepted, false},
		{"Hello Mo,\n\nI will go.\n\nCheers, Kay", accepted, false},
		{"I can't, sorry.\n--\nKay Orrin\nyes", declined, false},
		{"No.\nThe car is broken.", declined, true},
		{"Ich kann leider nicht.\nLiebe Grüße\nKay", declined, false},
		{"Ich u\u0308bernehme das.", accepted, false},
		{"", "", false},
		{"Thanks!", "", false},
		{"Thanks, Mo", "", false},
		{"I'll go if it is dry", "", true},
		{"Yes, I can't go", "", true},
		{"Yes\nNo", "", true},
		{"I'll go?", "", true},
		{"Who has oil?\nYes", "", true},
		{"Not sure yet", "", true},
		{"No problem, I'll go", "", true},
	} {
		if says, more := answerIn(tt.text, "Kay Orrin"); says != tt.says || more != tt.more {
			t.Errorf("%q: %q, more %t", tt.text, says, more)
		}
	}
}

// The words of the buttons count in every language, and no words mean two
// things.
func TestPhrases(t *testing.T) {
	t.Parallel()
	for _, l := range text.Languages() {
		say := text.In(l.Tag, text.Millimetres)
		for key, want := range map[string]saying{"button.take": accepted, "button.cant": declined} {
			if says, _ := answerIn(say.Say(key), ""); says != want {
				t.Errorf("%s: %q means %q", l.Tag, say.Say(key), says)
			}
		}
	}
	means := map[string]saying{}
	for _, p := range phrases() {
		key := ""
		for _, w := range p.words {
			key += w + " "
		}
		if before, known := means[key]; key == "" || known && before != p.means { // languages share words
			t.Errorf("%q means %q and %q", key, before, p.means)
		}
		means[key] = p.means
	}
}

func FuzzAnswerIn(f *testing.F) {
	f.Add("Yes, I'll go\nthanks", "Kay")
	f.Fuzz(func(t *testing.T, body, name string) {
		if says, _ := answerIn(body, name); says != "" && says != accepted && says != declined {
			t.Errorf("%q by %q: %q", body, name, says)
		}
	})
}
