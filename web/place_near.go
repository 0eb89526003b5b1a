package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/web/coordinates"
	"pryday/web/gazetteer"
)

// nearText is where a club is, to some ten kilometres, since a script sends it in an
// address; empty where nothing of it is placed yet.
func nearText(apiaries []scheduler.Apiary) string {
	if len(apiaries) == 0 {
		return ""
	}
	return fmt.Sprintf("%.1f, %.1f", apiaries[0].Latitude, apiaries[0].Longitude)
}

// nearBrowser is where whoever asks is likely to be, where nothing of the club is placed
// yet: in a time zone, of the form or else the member's, or in the land of the browser's
// first language.
func nearBrowser(r *http.Request, m *scheduler.Member, zone string) string {
	for _, zone := range []string{zone, m.Timezone} {
		if scheduler.IsZone(zone) && strings.Contains(zone, "/") { // "UTC" and "Local" say nothing of where
			return zone
		}
	}
	return text.LandForBrowser(r.Header.Get("Accept-Language"))
}

// nearClub is where a club is, or else whoever asks.
func nearClub(r *http.Request, club *scheduler.Club, who *visitor) string {
	return cmp.Or(nearText(club.Apiaries), nearBrowser(r, club.Member(who.MemberID), ""))
}

// placesNear puts those of the places first that somebody is likelier to mean, as near
// says: coordinates, a time zone, the code of a land, or nothing.
func placesNear(g *gazetteer.Gazetteer, found []gazetteer.Found, near string) {
	center, err := coordinates.Parse(near)
	switch {
	case err == nil:
		nearestFirst(found, center)
	case near != "" && len(near) < longestPlace:
		landFirst(found, near, cmp.Or(landOf(g, near), near))
	}
}

// landOf is the land of a time zone, by the town that the zone is called after; empty
// where none is known.
func landOf(g *gazetteer.Gazetteer, zone string) string {
	_, town, ok := strings.Cut(zone, "/")
	if !ok || !scheduler.IsZone(zone) {
		return ""
	}
	town = strings.ReplaceAll(town[strings.LastIndex(town, "/")+1:], "_", " ")
	found, err := g.Find(town, placesLooked, func(gazetteer.Place, string) bool { return false })
	if err != nil {
		return ""
	}
	for _, p := range found {
		if p.Zone == zone {
			return p.Country
		}
	}
	return ""
}

// landFirst puts those of the places first that are called as was typed and lie in a
// time zone, and then those of a land.
func landFirst(found []gazetteer.Found, zone, land string) {
	away := func(p *gazetteer.Found) int {
		switch {
		case !p.Exact || p.Zone != zone && p.Country != land:
			return 2
		case p.Zone != zone:
			return 1
		}
		return 0
	}
	slices.SortStableFunc(found, func(a, b gazetteer.Found) int { return cmp.Compare(away(&a), away(&b)) })
}

// nearestFirst puts those of the places first that are called as was typed and can be
// driven to from a point, in the order of their distance.
func nearestFirst(found []gazetteer.Found, from coordinates.Point) {
	away := func(p *gazetteer.Found) float64 {
		km := gazetteer.Distance(from.Latitude, from.Longitude, p.Latitude, p.Longitude)
		if !p.Exact || km > drivenKM {
			return drivenKM
		}
		return km
	}
	slices.SortStableFunc(found, func(a, b gazetteer.Found) int { return cmp.Compare(away(&a), away(&b)) })
}
