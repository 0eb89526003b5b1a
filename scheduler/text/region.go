package text

import (
	"maps"
	"strings"
)

// layOver takes the texts of a base language, with the words that a region has
// in place of others. Texts are changed before names go into them.
func (t *tongue) layOver(base *tongue) {
	var pairs []string
	for _, p := range t.Instead {
		pairs = append(pairs, p[0], p[1])
	}
	words := strings.NewReplacer(pairs...)
	for key, e := range base.texts {
		e.other = words.Replace(e.other)
		if e.forms != nil {
			forms := maps.Clone(e.forms)
			for f := range forms {
				forms[f] = words.Replace(forms[f])
			}
			e.forms = forms
		}
		t.texts[key] = e
	}
}
