package web

import (
	"html/template"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"
	"text/template/parse"

	"golang.org/x/net/html"

	"pryday/scheduler/text"
)

// prose is what only a language has: two letters side by side.
var prose = regexp.MustCompile(`\p{L}{2,}`)

// spokenAttributes are those that people read or hear.
var spokenAttributes = []string{"alt", "aria-label", "placeholder", "title"}

// sameEverywhere is what templates may say by themselves.
var sameEverywhere = []string{"Pryday", "Europe/Vienna"}

// spoken lists what a page says: its text between tags, and the attributes
// that are read out. Options of a datalist are text as well; what scripts hold
// and examples of files are not.
func spoken(page string) []string {
	var out []string
	say := func(s string) {
		if s = strings.Join(strings.Fields(s), " "); s != "" {
			out = append(out, s)
		}
	}
	inside := ""
	tokens := html.NewTokenizer(strings.NewReader(page))
	for {
		switch tokens.Next() {
		case html.ErrorToken:
			if tokens.Err() != io.EOF {
				panic(tokens.Err())
			}
			return out
		case html.TextToken:
			if inside != "script" && inside != "pre" {
				say(string(tokens.Text()))
			}
		case html.StartTagToken, html.SelfClosingTagToken:
			t := tokens.Token()
			if slices.Contains([]string{"datalist", "pre", "script"}, t.Data) {
				inside = t.Data
			}
			for _, a := range t.Attr {
				if slices.Contains(spokenAttributes, a.Key) || inside == "datalist" && a.Key == "value" {
					say(a.Val)
				}
			}
		case html.EndTagToken:
			if name, _ := tokens.TagName(); string(name) == inside {
				inside = ""
			}
		}
	}
}

// plain is what a template says in any case: its text, with a sign in place of
// what is put in, and every branch one after the other.
func plain(n parse.Node, out *strings.Builder) {
	branches := func(b *parse.BranchNode) {
		plain(b.List, out)
		if b.ElseList != nil {
			plain(b.ElseList, out)
		}
	}
	switch n := n.(type) {
	case *parse.ListNode:
		for _, inner := range n.Nodes {
			plain(inner, out)
		}
	case *parse.TextNode:
		out.Write(n.Text)
	case *parse.IfNode:
		branches(&n.BranchNode)
	case *parse.RangeNode:
		branches(&n.BranchNode)
	case *parse.WithNode:
		branches(&n.BranchNode)
	case *parse.ActionNode:
		if len(n.Pipe.Decl) == 0 {
			out.WriteString("…")
		}
	}
}

// Templates hold no words: what they say stands in the catalogue.
func TestTemplatesHoldNoProse(t *testing.T) {
	t.Parallel()
	var files []string
	for _, pattern := range []string{"pages/*.html", "pages/parts/*.html"} {
		found, err := fs.Glob(pageFiles, pattern)
		if err != nil || len(found) == 0 {
			t.Fatal(pattern, err)
		}
		files = append(files, found...)
	}
	for _, file := range files {
		parsed, err := template.New(file).Funcs(speech(&text.Speaker{})).ParseFS(pageFiles, file)
		if err != nil {
			t.Fatal(err)
		}
		var said []string
		for _, inner := range parsed.Templates() {
			if inner.Tree == nil {
				continue
			}
			var page strings.Builder
			plain(inner.Tree.Root, &page)
			for _, s := range spoken(page.String()) {
				for _, allowed := range sameEverywhere {
					s = strings.ReplaceAll(s, allowed, "")
				}
				if prose.MatchString(s) {
					said = append(said, s)
				}
			}
		}
		if len(said) > 0 {
			t.Errorf("%s says %q: say it by a key of the catalogue", file, said)
		}
	}
}
