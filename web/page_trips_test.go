package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"testing"

	"pryday/store"
	"pryday/store/storetest"
)

// TestPageRoundTrips holds how often whoever opens a page waits for Postgres:
// once for the session, once for the person, and for the page's records.
func TestPageRoundTrips(t *testing.T) {
	t.Parallel()
	address, trips := storetest.Count(t, storetest.From(t, "served", fillServed))
	c := serveAt(t, address)
	visit := c.visit("Quarry")
	club := c.club()
	quarry := club.ApiaryNamed("Quarry")
	var calendar string
	c.in(func(tx *store.Tx) error {
		_, token, err := tx.CreateLink(context.Background(), store.ClubLink, c.member["Ansel"], 0, store.LinkOptions{})
		calendar = "/calendar/" + token + ".ics"
		return err
	})
	ansel := c.as("Ansel")
	ansel.get("/").says(http.StatusOK) // the session knows its club from now on
	for _, row := range []struct {
		page, path string
		want       int
	}{
		{"home", "/", 5},
		{"visit", visitPath(visit.UID), 4},
		{"record", visitPath(visit.UID) + "/record", 4},
		{"hive", "/hive/" + itoa(quarry.Hives[0].ID), 4},
		{"hive to be changed", "/hive/" + itoa(quarry.Hives[0].ID) + "/change", 5},
		{"what happened to a hive", "/hive/" + itoa(quarry.Hives[0].ID) + "/colony/split", 5},
		{"box", "/box/" + itoa(quarry.Hives[0].Boxes[0].ID), 4},
		{"find", "/find?q=q", 3},
		{"month", "/month", 3},
		{"year", "/year?year=2027", 3},
		{"day", "/day?day=2027-06-01", 3},
		{"guide", "/guide", 3},
		{"guide, a box drawn", "/guide/dates?box=" + itoa(quarry.Hives[0].Boxes[0].ID), 4},
		{"record a hive", "/hive/" + itoa(quarry.Hives[0].ID) + "/record", 4},
		{"apiaries", "/apiaries", 4},
		{"map", "/map", 3},
		{"apiary", "/apiary/" + itoa(quarry.ID), 4},
		{"season", "/apiary/" + itoa(quarry.ID) + "/season", 5},
		{"marks", "/apiary/" + itoa(quarry.ID) + "/marks", 4},
		{"marks of spare boxes", "/boxes/marks", 5},
		{"calendar addresses", "/links", 4},
		{"feed, for the first time", calendar, 8}, // three to write down what it shows
		{"feed, from memory", calendar, 0},
	} {
		trips.Take()
		ansel.get(row.path).says(http.StatusOK)
		// At moments of their own the feeds listen to Postgres, and ask whether it still speaks, and old sessions end.
		isNoPages := func(s string) bool {
			return strings.HasPrefix(s, "SELECT pg_notify(") || strings.HasPrefix(s, "LISTEN ") || strings.HasPrefix(s, "DELETE FROM sessions WHERE expiry")
		}
		if made := slices.DeleteFunc(trips.Take(), isNoPages); len(made) != row.want {
			t.Errorf("%s: %d round trips, want %d:\n%s", row.page, len(made), row.want, strings.Join(made, "\n"))
		}
	}
}
