package web

import (
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"strings"
	"sync"

	"pryday/scheduler/text"
)

//go:embed pages/*.html pages/parts/*.html
var pageFiles embed.FS

// pages are the parsed templates by name, each with the layout around it. What
// they say depends on who reads: each is made once for a language and units.
type pages struct {
	parsed map[string]*template.Template
	spoken sync.Map // of spokenPage to *template.Template
}

type spokenPage struct {
	name string
	say  text.Speaker
}

// loadPages reads every page, with the parts that pages share: once, since they
// are embedded, and none is changed by being said.
var loadPages = sync.OnceValues(readPages)

func readPages() (*pages, error) {
	parts, err := template.New("parts").Option("missingkey=error").Funcs(speech(&text.Speaker{})).ParseFS(pageFiles, "pages/parts/*.html")
	if err != nil {
		return nil, fmt.Errorf("parts of pages: %w", err)
	}
	names, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		return nil, err
	}
	all := &pages{parsed: map[string]*template.Template{}}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		t, err := parts.Clone()
		if err == nil {
			t, err = t.ParseFS(pageFiles, file)
		}
		if err != nil {
			return nil, fmt.Errorf("page %s: %w", name, err)
		}
		all.parsed[name] = t
	}
	return all, nil
}

// in returns a page as it is said to a reader.
func (p *pages) in(name string, say *text.Speaker) (*template.Template, error) {
	key := spokenPage{name, *say}
	if t, ok := p.spoken.Load(key); ok {
		return t.(*template.Template), nil
	}
	parsed := p.parsed[name]
	if parsed == nil {
		return nil, fmt.Errorf("there is no page %s", name)
	}
	t, err := parsed.Clone()
	if err != nil {
		return nil, err
	}
	made, _ := p.spoken.LoadOrStore(key, t.Funcs(speech(say)))
	return made.(*template.Template), nil
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
