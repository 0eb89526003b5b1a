package web

import (
	"slices"
	"strings"
	"testing"

	"pryday/scheduler/text"
)

// Every page can be made, of the parts that it uses and of no other: all that is made is
// kept.
func TestPagesAreMadeOfWhatTheyUse(t *testing.T) {
	all, err := readPages()
	if err != nil {
		t.Fatal(err)
	}
	say := text.In("en", text.Millimetres)
	used := map[string]bool{}
	for name := range all.own {
		page, err := all.in(name, say)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, part := range page.Templates() {
			used[part.Name()] = true
		}
	}
	for name := range all.parts {
		if !used[name] && !strings.HasSuffix(name, ".html") { // what is between the parts of a file
			if _, err := all.part(name, say); err != nil {
				t.Error(err)
			}
			if !slices.Contains([]string{"placefound"}, name) {
				t.Errorf("no page uses the part %s", name)
			}
		}
	}
	guide, err := all.in("guide", say)
	if err != nil {
		t.Fatal(err)
	}
	if guide.Lookup("yearstrip") != nil || guide.Lookup("layout") == nil {
		t.Errorf("the guide is made of %s", guide.DefinedTemplates())
	}
	if _, err := all.in("nowhere", say); err == nil {
		t.Error("a page that is not there was made")
	}
	all.own["broken"] = definitions{"content": all.own["erase"]["content"]}
	delete(all.parts, "layout")
	if _, err := all.in("broken", say); err == nil {
		t.Error("a page whose layout is not there was made")
	}
}
