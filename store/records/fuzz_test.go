package records

import (
	"bytes"
	"errors"
	"reflect"
	"testing"

	"pryday/scheduler"
)

// refused fails the test unless an error is one that a person can act on.
func refused(t *testing.T, err error) {
	t.Helper()
	var ps Problems
	if !errors.As(err, &ps) || len(ps) == 0 || ps.Error() == "" {
		t.Errorf("the error is not a list of problems: %v", err)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(example))
	f.Add([]byte(`{"club":{"name":"a","members":[]},"apiaries":[]}`))
	f.Add([]byte(`{"apiaries":[{"hives":[{"boxes":[{"openings":[{"on":null}]}]}]}],"boxes":[{"retired_on":"2020-01-01","places":[{"where":"hive"}]}]}`))
	f.Add([]byte(`[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[`))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Parse(data)
		if err != nil {
			refused(t, err)
			return
		}
		doc, err := Encode(c)
		if err != nil {
			t.Fatalf("cannot be written: %v", err)
		}
		again, err := Parse(doc)
		if err != nil {
			t.Fatalf("what was written is refused: %v\n%s", err, doc)
		}
		if !reflect.DeepEqual(c, again) {
			t.Fatalf("read\n%+v\nthen\n%+v", c, again)
		}
	})
}

func FuzzParseRules(f *testing.F) {
	f.Add([]byte(exampleRules))
	f.Add(EncodeRules(scheduler.DefaultRules(), english))
	f.Add([]byte("stage.flow = 1\n[[hours]]\nhours = {travel = 1}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := ParseRules(data)
		if err != nil {
			refused(t, err)
			return
		}
		if bad := r.Validate(); len(bad) > 0 {
			t.Fatalf("rules that cannot be were taken: %v", bad)
		}
		again, err := ParseRules(EncodeRules(r, english))
		if err != nil || !reflect.DeepEqual(r, again) {
			t.Fatalf("read %+v, then %+v (%v)", r, again, err)
		}
	})
}

func FuzzParseOpenings(f *testing.F) {
	f.Add([]byte(exampleCSV), true)
	f.Add([]byte("\ufeffapiary;hive;box;opened_on;difficulty\r\nOrchard;New;1;2026-01-01;0\r\n"), false)
	f.Add([]byte("apiary,hive,box,opened_on,difficulty,kind\nOrchard,'=x,''y,2026-01-01,0,deep\n"), true)
	f.Fuzz(func(t *testing.T, data []byte, create bool) {
		c, err := Parse([]byte(example))
		if err != nil {
			t.Fatal(err)
		}
		before, _ := Encode(c)
		added, err := ParseOpenings(data, c, CSVOptions{CreateBoxes: create})
		if err != nil {
			refused(t, err)
			if after, _ := Encode(c); !bytes.Equal(before, after) {
				t.Fatal("a refused list changed the club")
			}
			return
		}
		doc, err := Encode(c)
		if err != nil {
			t.Fatalf("cannot be written: %v", err)
		}
		if _, err := Parse(doc); err != nil {
			t.Fatalf("what %d openings made of the club is refused: %v", added, err)
		}
		if again, err := ParseOpenings(data, c, CSVOptions{CreateBoxes: create}); again != 0 || err != nil {
			t.Fatalf("a second reading added %d, %v", again, err)
		}
	})
}
