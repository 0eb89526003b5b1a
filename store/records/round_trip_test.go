package records

import (
	"bytes"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

func TestDocumentCarriesEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawClub(t)
		doc, err := Encode(want)
		if err != nil {
			t.Fatalf("writing: %v", err)
		}
		got, err := Parse(doc)
		if err != nil {
			t.Fatalf("reading what was written: %v\n%s", err, doc)
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("read\n%+v\nwant\n%+v\nfrom\n%s", got, want, doc)
		}
		again, err := Encode(got)
		if err != nil || !bytes.Equal(again, doc) {
			t.Fatalf("a second writing differs (%v):\n%s\n%s", err, again, doc)
		}
	})
}

func TestExampleComesBack(t *testing.T) {
	first := parse(t, example)
	doc, err := Encode(first)
	if err != nil {
		t.Fatal(err)
	}
	if second := parse(t, string(doc)); !reflect.DeepEqual(first, second) {
		t.Errorf("read\n%+v\nwant\n%+v\nfrom\n%s", second, first, doc)
	}
}
