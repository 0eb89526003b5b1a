package web

import (
	"net/http"
	"path"
	"strings"
)

// assets are the files that pages link to, under names that change with
// their content, so that browsers may keep them for ever.
type assets struct {
	files         map[string][]byte
	style, script string
}

func loadAssets() assets {
	a := assets{files: map[string][]byte{}}
	a.style = a.add(".css", "style", "club")
	a.script = a.add(".js", "pryday")
	return a
}

// add joins files of one kind into one, named after the first.
func (a *assets) add(ext string, names ...string) string {
	var b []byte
	for _, name := range names {
		part, err := assetFiles.ReadFile("assets/" + name + ext)
		if err != nil {
			panic(err) // embedded: it cannot be missing
		}
		b = append(append(b, part...), '\n')
	}
	named := names[0] + "." + fingerprint(b) + ext
	a.files[named] = b
	return named
}

var assetTypes = map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}

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
