package web

import (
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"strings"
	"sync"
	"text/template/parse"

	"pryday/scheduler/text"
)

//go:embed pages/*.html pages/parts/*.html
var pageFiles embed.FS

// pages are the parsed templates by name. What they say depends on who reads: each is
// made once for a language and units, with the layout around it and of the parts that
// pages share those that it uses. The collector of garbage looks at every node.
type pages struct {
	parts  definitions
	own    map[string]definitions // of each page
	spoken sync.Map               // of saidPage to *template.Template
}

// definitions are templates by the names that others use them by.
type definitions map[string]*parse.Tree

// saidPage is a page, or a part without one, as it is said to a reader.
type saidPage struct {
	page, begins string
	say          text.Speaker
}

// loadPages reads every page, and the parts that pages share: once, since they
// are embedded, and none is changed by being said.
var loadPages = sync.OnceValues(readPages)

func readPages() (*pages, error) {
	names, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		return nil, err
	}
	all := &pages{own: map[string]definitions{}}
	if all.parts, err = define("pages/parts/*.html"); err != nil {
		return nil, fmt.Errorf("parts of pages: %w", err)
	}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if all.own[name], err = define(file); err != nil {
			return nil, fmt.Errorf("page %s: %w", name, err)
		}
	}
	return all, nil
}

// define parses the templates of some files.
func define(files string) (definitions, error) {
	set, err := template.New("").Funcs(speech(&text.Speaker{})).ParseFS(pageFiles, files)
	if err != nil {
		return nil, err
	}
	found := definitions{}
	for _, t := range set.Templates() {
		if t.Tree != nil {
			found[t.Name()] = t.Tree
		}
	}
	return found, nil
}

// in returns a page as it is said to a reader.
func (p *pages) in(name string, say *text.Speaker) (*template.Template, error) {
	if p.own[name] == nil {
		return nil, fmt.Errorf("there is no page %s", name)
	}
	return p.made(saidPage{name, "layout", *say}, say)
}

// part returns a part alone as it is said to a reader.
func (p *pages) part(name string, say *text.Speaker) (*template.Template, error) {
	return p.made(saidPage{"", name, *say}, say)
}

func (p *pages) made(key saidPage, say *text.Speaker) (*template.Template, error) {
	if t, ok := p.spoken.Load(key); ok {
		return t.(*template.Template), nil
	}
	t := template.New("").Option("missingkey=error").Funcs(speech(say))
	if err := p.add(t, key.page, key.begins); err != nil {
		return nil, fmt.Errorf("page %s: %w", key.page, err)
	}
	made, _ := p.spoken.LoadOrStore(key, t.Lookup(key.begins))
	return made.(*template.Template), nil
}

// add adds a template to those of a page, with all that it uses.
func (p *pages) add(to *template.Template, page, name string) error {
	if to.Lookup(name) != nil {
		return nil
	}
	tree := p.own[page][name]
	if tree == nil {
		tree = p.parts[name]
	}
	if tree == nil {
		return fmt.Errorf("there is no part %s", name)
	}
	_, err := to.AddParseTree(name, tree.Copy()) // to be escaped is to be changed
	for _, used := range usedBy(tree.Root) {
		if err == nil {
			err = p.add(to, page, used)
		}
	}
	return err
}

// usedBy lists the templates that a part of one uses by name.
func usedBy(node parse.Node) (names []string) {
	branch := func(b *parse.BranchNode) []string {
		used := usedBy(b.List)
		if b.ElseList != nil {
			used = append(used, usedBy(b.ElseList)...)
		}
		return used
	}
	switch n := node.(type) {
	case *parse.ListNode:
		for _, child := range n.Nodes {
			names = append(names, usedBy(child)...)
		}
	case *parse.IfNode:
		return branch(&n.BranchNode)
	case *parse.RangeNode:
		return branch(&n.BranchNode)
	case *parse.WithNode:
		return branch(&n.BranchNode)
	case *parse.TemplateNode:
		return []string{n.Name}
	}
	return names
}

// speech are the functions by which templates speak to a reader:
//
//	{{say "page.visit.title" .Apiary}}    a text of the catalogue
//	{{tell .Problem}}                     a text.Text that the page was given
//	{{word .Status}}                      the word of a noun of a closed list
//	{{day .On}} {{length .MM}}            a day in full, a length in the reader's units
//	{{with marked "page.sent" .Address}}{{.Before}}<a href="/">{{.Marked}}</a>{{.After}}{{end}}
//	                                      a text of which {a part} is a link or stands out
//	{{forms "page.script.waits"}}         the plural forms of a text, for the script
//	{{lang}}                              the language, for the page's lang attribute
func speech(say *text.Speaker) template.FuncMap {
	return template.FuncMap{
		"say":    say.Say,
		"tell":   say.Tell,
		"word":   say.Word,
		"day":    say.Day,
		"length": say.Length,
		"marked": say.Marked,
		"forms":  say.Forms,
		"lang":   say.Language,
	}
}
