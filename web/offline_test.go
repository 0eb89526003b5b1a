package web

import (
	"bytes"
	"encoding/json"
	"image/png"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// TestTheAppCanBeInstalled checks what the W3C's Web Application Manifest and
// browsers' own rules for installing ask for: a name, a start, a display of its
// own, icons of 192 and 512 pixels of which one may be cut to any shape, and a
// worker, all of them from the page's own address.
func TestTheAppCanBeInstalled(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Brida")
	b.get("/").holds(`<link rel="manifest" href="/app.webmanifest">`)
	got := b.get("/app.webmanifest").says(http.StatusOK)
	var manifest struct {
		Name, Start_url, Display string //nolint:revive // as the standard spells it
		Icons                    []struct{ Src, Sizes, Type, Purpose string }
	}
	if err := json.Unmarshal([]byte(got.body), &manifest); err != nil || got.header.Get("Content-Type") != "application/manifest+json" {
		t.Fatalf("%v: %s", err, got.body)
	}
	if manifest.Name == "" || manifest.Start_url != "/" || manifest.Display != "standalone" {
		t.Errorf("%+v", manifest)
	}
	var shapes []string
	for _, icon := range manifest.Icons {
		image, err := png.DecodeConfig(bytes.NewReader([]byte(b.get(icon.Src).says(http.StatusOK).body)))
		if err != nil || !strings.HasPrefix(icon.Sizes, itoa(int64(image.Width))+"x"+itoa(int64(image.Height))) {
			t.Errorf("%s: %v, %d pixels wide", icon.Src, err, image.Width)
		}
		shapes = append(shapes, icon.Purpose+" "+icon.Sizes)
	}
	for _, want := range []string{"any 192x192", "any 512x512", "maskable 512x512"} {
		if !slices.Contains(shapes, want) {
			t.Errorf("no icon %s among %s", want, shapes)
		}
	}
	worker := b.get("/worker.js").says(http.StatusOK)
	if worker.header.Get("Cache-Control") != "no-cache" || !strings.HasPrefix(worker.body, "const assets = [") {
		t.Errorf("%v %.60s", worker.header, worker.body)
	}
}

// TestOfflineList: what a phone keeps is the member's own, and taking it uses
// up nothing that is said only once.
func TestOfflineList(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	list := func(who string) (pages []string) {
		var answer struct {
			Who   int64
			Pages []string
		}
		if err := json.Unmarshal([]byte(c.as(who).get("/offline").says(http.StatusOK).body), &answer); err != nil || answer.Who != c.member[who] {
			t.Fatalf("%v: %+v", err, answer)
		}
		return answer.Pages
	}
	v := c.visit("Quarry")
	brida := list("Brida")
	for _, want := range []string{"/", visitPath(v.UID), visitPath(v.UID) + "/sheet", visitPath(v.UID) + "/record"} {
		if !slices.Contains(brida, want) {
			t.Errorf("no %s among %s", want, brida)
		}
	}
	b := c.as("Brida")
	for _, path := range brida {
		b.get(path).says(http.StatusOK)
	}
	if corin := list("Corin"); slices.Contains(corin, visitPath(v.UID)) {
		t.Errorf("Corin, who looks after nothing, keeps %s", corin)
	}
	if got := c.stranger().get("/offline"); got.status != http.StatusSeeOther {
		t.Errorf("a stranger is told %d", got.status)
	}

	b.post("/hive/"+itoa(c.club().Apiaries[1].Hives[0].ID)+"/record", fields("hive", itoa(c.club().Apiaries[1].Hives[0].ID), "on", today.String(), "whole", "yes")).says(http.StatusSeeOther)
	path := "/hive/" + itoa(c.club().Apiaries[1].Hives[0].ID) + "/record"
	b.send("GET", path, nil, map[string]string{"Pryday-Keep": "1"}).says(http.StatusOK).hides("Saved. Next to be opened by")
	b.get(path).says(http.StatusOK, "Saved. Next to be opened by")
}
