package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
)

// assets are the files that pages link to, under names that change with
// their content, so that browsers may keep them for ever.
type assets struct {
	files            map[string][]byte
	Style, Script    string
	Calendar         string // the style of the calendar's pages, beside the other
	Guide            string // that of the guide's
	Desk, Rules      string // the scripts of these pages, beside the other
	Place            string // the script of forms that ask for one
	Icon             string // drawn, for tabs
	manifest, worker []byte
}

// iconSizes are the sizes in pixels that a phone asks of an app that it
// installs.
var iconSizes = []int{192, 512}

func loadAssets() assets {
	a := assets{files: map[string][]byte{}}
	a.Style = a.add(".css", "style", "club")
	a.Calendar = a.add(".css", "calendar")
	a.Guide = a.add(".css", "guide")
	a.Script = a.add(".js", "waiting", "photo-queue", "pryday", "busy", "offline", "photos")
	a.Desk, a.Rules = a.add(".js", "desk"), a.add(".js", "rules")
	a.Place = a.add(".js", "place")
	a.Icon = a.add(".svg", "icon")
	icon := func(purpose, name string, size int) map[string]string {
		return map[string]string{
			"src": "/assets/" + a.add(".png", fmt.Sprintf("%s-%d", name, size)), "sizes": fmt.Sprintf("%dx%[1]d", size), "type": "image/png", "purpose": purpose,
		}
	}
	var icons []map[string]string
	for _, size := range iconSizes {
		icons = append(icons, icon("any", "icon", size), icon("maskable", "icon-whole", size))
	}
	a.manifest = must(json.Marshal(map[string]any{
		"id": "/", "name": "Pryday", "short_name": "Pryday", "start_url": "/", "scope": "/", "display": "standalone",
		"background_color": "#faf6ec", "theme_color": "#2b594c", "icons": icons,
	}))
	// Another build is another worker, since its first line differs.
	list := must(json.Marshal(slices.Sorted(maps.Keys(a.files))))
	a.worker = bytes.Join([][]byte{fmt.Appendf(nil, "const assets = %s;", list), assetFile("waiting.js"), assetFile("photo-queue.js"), assetFile("worker.js")}, []byte("\n"))
	return a
}

func assetFile(name string) []byte { return must(assetFiles.ReadFile("assets/" + name)) }

// must is for what is embedded: it cannot be missing or wrong.
func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}

// wholeLineComment is what only readers of the code need: a line that begins with
// two slashes, which begin nothing else in our scripts.
var wholeLineComment = regexp.MustCompile(`(?m)^\s*//.*\n`)

// add joins files of one kind into one, named after the first.
func (a *assets) add(ext string, names ...string) string {
	var parts [][]byte
	for _, name := range names {
		parts = append(parts, assetFile(name+ext))
	}
	b := bytes.Join(parts, []byte("\n"))
	if ext == ".js" {
		b = wholeLineComment.ReplaceAll(b, nil)
	}
	named := names[0] + "." + fingerprint(b) + ext
	a.files[named] = b
	return named
}

var assetTypes = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".png": "image/png",
}

func (a assets) serve(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	b, ok := a.files[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", assetTypes[strings.ToLower(path.Ext(name))])
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	_, _ = w.Write(b)
}

// serveWorker serves the script that keeps pages on the phone. Browsers ask for
// it now and then, to learn of a new version.
func (a assets) serveWorker(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", assetTypes[".js"])
	w.Header().Set("Cache-Control", "no-cache")
	_, _ = w.Write(a.worker)
}

// serveManifest serves what a phone needs to know to install the pages as an
// app.
func (a assets) serveManifest(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/manifest+json")
	w.Header().Set("Cache-Control", "public, max-age=3600")
	_, _ = w.Write(a.manifest)
}
