package web

import (
	"math"
	"slices"
	"strings"

	"pryday/scheduler/text"
	"pryday/web/gazetteer"
)

// largeTown is how many people a town has that others are told apart by.
const largeTown = 15_000

// germanRegions are the regions that have another name in German than in the
// gazetteer, by its codes, in the lands where German is spoken (from memory).
var germanRegions = map[string]string{
	"DE.02": "Bayern", "DE.05": "Hessen", "DE.06": "Niedersachsen", "DE.07": "Nordrhein-Westfalen", "DE.12": "Mecklenburg-Vorpommern",
	"DE.13": "Sachsen", "DE.14": "Sachsen-Anhalt", "DE.15": "Thüringen",
	"AT.02": "Kärnten", "AT.03": "Niederösterreich", "AT.04": "Oberösterreich", "AT.06": "Steiermark", "AT.07": "Tirol", "AT.09": "Wien",
	"CH.FR": "Freiburg", "CH.GE": "Genf", "CH.GR": "Graubünden", "CH.LU": "Luzern", "CH.NE": "Neuenburg", "CH.SG": "St. Gallen",
	"CH.TI": "Tessin", "CH.VD": "Waadt", "CH.VS": "Wallis", "CH.ZH": "Zürich", "IT.17": "Trentino-Südtirol",
}

// regionOf names the region that a place lies in; it may have none.
func regionOf(p gazetteer.Place, say *text.Speaker) string {
	if name, ok := germanRegions[p.RegionCode]; ok && strings.HasPrefix(say.Language(), "de") {
		return name
	}
	return p.Region
}

// calledIn is a place with what it lies in, as far as that has another name.
func calledIn(g *gazetteer.Gazetteer, p gazetteer.Place, say *text.Speaker) string {
	names := []string{p.Name}
	for _, name := range []string{regionOf(p, say), g.Country(p.Country, say.Language())} {
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

// liesIn reports whether the region or country of a place begins with what was
// folded, in any language of the file, or has it for a code.
func liesIn(g *gazetteer.Gazetteer, p gazetteer.Place, folded string) bool {
	_, code, _ := strings.Cut(p.RegionCode, ".")
	if folded == strings.ToLower(p.Country) || folded == strings.ToLower(code) {
		return true
	}
	names := []string{p.Region, germanRegions[p.RegionCode]}
	for _, lang := range g.Languages() {
		names = append(names, g.Country(p.Country, lang))
	}
	return slices.ContainsFunc(names, func(name string) bool { return strings.HasPrefix(gazetteer.Fold(name), folded) })
}

// townNear says how far the next large town is, for places that share all their
// other names.
func townNear(g *gazetteer.Gazetteer, p gazetteer.Place, say *text.Speaker) string {
	town, km, ok := g.Nearest(p.Latitude, p.Longitude, largeTown)
	if !ok || town.ID == p.ID {
		return ""
	}
	return say.Say("page.place.from-town", max(int(math.Round(km)), 1), town.Name)
}
