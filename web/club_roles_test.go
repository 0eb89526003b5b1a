package web

import (
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"
)

// noUpload is the id of no spreadsheet.
const noUpload = "0b8b7c1e-1111-4111-8111-00000000ffff"

// TestClubPagesByRole asks for every page at which a club is looked after, and
// sends every change, in every role. Bodies are such that whoever may send
// them is refused for their content, or asked back.
func TestClubPagesByRole(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	apiary, member := "/apiary/"+itoa(c.club().Apiaries[1].ID), "/members/"+itoa(c.member["Corin"])
	browsers := []*browser{c.as("Ansel"), c.as("Brida"), c.as("Corin"), c.as("Dorrit"), c.stranger()}
	names := []string{"organiser", "keeper of it", "another keeper", "another club", "nobody"}
	const (
		ok, signIn, refused, unknown, bad, broken, gone = http.StatusOK, http.StatusSeeOther, http.StatusForbidden, http.StatusNotFound, http.StatusUnprocessableEntity, http.StatusBadRequest, http.StatusGone
	)
	seen := map[string]bool{}
	for _, row := range []struct {
		route, path string
		want        [5]int
	}{
		{"GET /setup/{token}", "/setup/guessed", [5]int{gone, gone, gone, gone, gone}},
		{"POST /setup/{token}", "/setup/guessed", [5]int{gone, gone, gone, gone, gone}},
		{"GET /apiary/{id}/hives", apiary + "/hives", [5]int{ok, ok, refused, unknown, signIn}},
		{"POST /apiary/{id}/hives", apiary + "/hives", [5]int{bad, bad, refused, unknown, signIn}},
		{"GET /apiary/{id}/marks", apiary + "/marks", [5]int{ok, ok, refused, unknown, signIn}},
		{"POST /apiary/{id}/marks", apiary + "/marks", [5]int{signIn, signIn, refused, unknown, signIn}}, // nothing is changed
		{"GET /boxes/marks", "/boxes/marks", [5]int{ok, refused, refused, ok, signIn}},
		{"POST /boxes/marks", "/boxes/marks", [5]int{signIn, refused, refused, signIn, signIn}},
		{"GET /apiary/{id}/season", apiary + "/season", [5]int{ok, ok, ok, unknown, signIn}},
		{"POST /apiary/{id}/season", apiary + "/season", [5]int{bad, bad, refused, unknown, signIn}},
		{"GET /rules", "/rules", [5]int{ok, ok, ok, ok, signIn}},
		{"GET /rules/limit", "/rules/limit", [5]int{ok, refused, refused, ok, signIn}},
		{"POST /rules", "/rules", [5]int{bad, refused, refused, bad, signIn}},
		{"POST /rules/season", "/rules/season", [5]int{bad, refused, refused, bad, signIn}},
		{"POST /rules/preview", "/rules/preview", [5]int{bad, refused, refused, bad, signIn}},
		{"POST /rules/upload", "/rules/upload", [5]int{broken, refused, refused, broken, signIn}},
		{"GET /rules/file", "/rules/file", [5]int{ok, ok, ok, ok, signIn}},
		{"GET /rules/history", "/rules/history", [5]int{ok, ok, ok, ok, signIn}},
		{"GET /members", "/members", [5]int{ok, ok, ok, ok, signIn}},
		{"POST /members/invite", "/members/invite", [5]int{bad, refused, refused, bad, signIn}},
		{"POST /members/invited/{person}/{deed}", "/members/invited/999999/withdraw", [5]int{unknown, refused, refused, unknown, signIn}},
		{"GET /members/{id}", member, [5]int{ok, refused, refused, unknown, signIn}},
		{"POST /members/{id}/{deed}", member + "/away", [5]int{bad, refused, refused, unknown, signIn}},
		{"POST /members/{id}/{deed}", member + "/calendar", [5]int{unknown, refused, refused, unknown, signIn}},
		{"POST /members/{id}/{deed}", member + "/remove", [5]int{bad, refused, refused, unknown, signIn}},
		{"POST /members/{id}/{deed}", member + "/sign-out", [5]int{bad, refused, refused, unknown, signIn}},
		{"POST /members/{id}/{deed}", member + "/nothing", [5]int{unknown, refused, refused, unknown, signIn}},
		{"GET /members/{id}/address", member + "/address", [5]int{ok, refused, refused, unknown, signIn}},
		{"POST /members/{id}/address", member + "/address", [5]int{bad, refused, refused, unknown, signIn}},
		{"GET /links", "/links", [5]int{ok, ok, ok, ok, signIn}},
		{"POST /links", "/links", [5]int{bad, bad, bad, bad, signIn}},
		{"POST /links/{id}/{deed}", "/links/1/revoke", [5]int{unknown, unknown, unknown, unknown, signIn}},
		{"GET /fit", "/fit", [5]int{ok, ok, ok, ok, signIn}},
		{"GET /messages", "/messages", [5]int{ok, ok, ok, ok, signIn}},
		{"POST /messages/clear", "/messages/clear", [5]int{unknown, refused, refused, unknown, signIn}},
		{"GET /records", "/records", [5]int{ok, refused, refused, ok, signIn}},
		{"GET /records/file", "/records/file", [5]int{ok, refused, refused, ok, signIn}},
		{"GET /records/photos", "/records/photos", [5]int{ok, refused, refused, ok, signIn}},
		{"POST /records", "/records", [5]int{broken, refused, refused, broken, signIn}},
		{"GET /bring-in", "/bring-in", [5]int{ok, refused, refused, ok, signIn}},
		{"POST /bring-in", "/bring-in", [5]int{bad, refused, refused, bad, signIn}},
		{"GET /bring-in/{id}", "/bring-in/" + noUpload, [5]int{signIn, refused, refused, signIn, signIn}},
		{"GET /bring-in/{id}/{step}", "/bring-in/" + noUpload + "/check", [5]int{unknown, refused, refused, unknown, signIn}},
		{"GET /bring-in/{id}/refused.csv", "/bring-in/" + noUpload + "/refused.csv", [5]int{unknown, refused, refused, unknown, signIn}},
		{"POST /bring-in/{id}/{step}", "/bring-in/" + noUpload + "/columns", [5]int{unknown, refused, refused, unknown, signIn}},
		{"GET /audit", "/audit", [5]int{ok, refused, refused, ok, signIn}},
	} {
		seen[row.route] = true
		method, _, _ := strings.Cut(row.route, " ")
		for i, b := range browsers {
			form := fields("from", "never")
			if method == "GET" {
				form = nil
			}
			if got := b.send(method, row.path, form, nil); got.status != row.want[i] {
				t.Errorf("%s %s by %s: %d, want %d: %.200s", method, row.path, names[i], got.status, row.want[i], got.text())
			}
			if method == "GET" {
				continue
			}
			for _, header := range []map[string]string{{"Origin": "https://elsewhere.example"}, {"Sec-Fetch-Site": "cross-site"}, {"Origin": "null"}} {
				if got := b.send(method, row.path, form, header); got.status != http.StatusForbidden {
					t.Errorf("%s %s by %s from %v: %d, want 403", method, row.path, names[i], header, got.status)
				}
			}
		}
	}
	// No route of the list may be forgotten here.
	source, err := os.ReadFile("club_routes.go")
	if err != nil {
		t.Fatal(err)
	}
	listed := regexp.MustCompile(`\("((?:GET|POST) /[^"]*)"`).FindAllSubmatch(source, -1)
	if len(listed) < 20 {
		t.Fatalf("%d routes found in clubroutes.go", len(listed))
	}
	for _, m := range listed {
		if !seen[string(m[1])] {
			t.Errorf("%s is not in this test", m[1])
		}
	}
}
