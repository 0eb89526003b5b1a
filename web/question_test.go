package web

import (
	"html"
	"maps"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/store"
)

// What a notice offers to take a change back with.
var (
	undoForm  = regexp.MustCompile(`(?s)<div class="notice".*?<form method="post" action="([^"]+)">(.*?)<button`)
	undoField = regexp.MustCompile(`name="([^"]*)" value="([^"]*)"`)
)

// takeBack sends the form of the page's notice that takes a change back.
func (a *answer) takeBack(b *browser) *answer {
	a.t.Helper()
	m := undoForm.FindStringSubmatch(a.body)
	if m == nil {
		a.t.Fatalf("nothing takes it back: %s", cutTo(a.text(), 600))
	}
	values := url.Values{}
	for _, f := range undoField.FindAllStringSubmatch(m[2], -1) {
		values.Add(f[1], html.UnescapeString(f[2]))
	}
	return b.follow(html.UnescapeString(m[1]), values)
}

// asksFirst are the changes that remove or end something for good: sent once they
// are asked back, with a button that sends all of it again.
var asksFirst = []string{
	"/apiary/{id}/remove", "/bring-in/{id}/forget", "/hive/{id}/box-move", "/hive/{id}/colony/{what}", "/hive/{id}/retire", "/hive/{id}/take-back",
	"/invitations/{club}/decline", "/links/{id}/revoke", "/members/invited/{person}/withdraw", "/members/{id}/calendar", "/members/{id}/remove",
	"/members/{id}/sign-out", "/passkeys/remove", "/sign-ins/{id}/end", "/sign-out-everywhere", "/visit/{uid}/cancel", "/visit/{uid}/finish",
}

// takenBack are those that one button takes back.
var takenBack = []string{
	"/apiary/{id}/keepers", "/apiary/{id}/no-go", "/apiary/{id}/standstill", "/hive/{id}/leave", "/hive/{id}/roughly", "/members/{id}/away", "/members/{id}/role",
	"/photo/{id}/remove", "/preferences/away", "/visit/{uid}/leave", "/visit/{uid}/move", "/visit/{uid}/take-off", "/visit/{uid}/unpin", "/visit/{uid}/who",
}

// removesNothing are all others: they add, change in a form that shows what was
// there, undo, or ask in a page of their own before.
var removesNothing = []string{
	"/act/{token}", "/apiaries", "/apiary/{id}/desk", "/apiary/{id}/hives", "/apiary/{id}/marks", "/apiary/{id}/save", "/apiary/{id}/season", "/boxes/marks", "/bring-in", "/bring-in/{id}/{step}",
	"/hive/{id}/box-add", "/hive/{id}/box-back", "/hive/{id}/box-save", "/hive/{id}/order", "/hive/{id}/record", "/hive/{id}/repaired", "/hive/{id}/roughly-not",
	"/hive/{id}/save", "/hive/{id}/undo-event", "/invitations/{club}/accept", "/links", "/links/{id}/rotate", "/members/invite", "/members/invited/{person}/again",
	"/members/{id}/address", "/members/{id}/invite", "/messages/clear", "/new-address/{token}", "/old-address/{token}", "/passkeys", "/passkeys/ask",
	"/photo/{id}/back", "/preferences", "/preferences/address", "/preferences/erase", "/records", "/rules", "/rules/preview", "/rules/season", "/rules/upload",
	"/setup/{token}", "/sign-in", "/sign-in/passkey", "/sign-in/passkey/ask", "/sign-in/{token}", "/sign-out", "/unsubscribe/{token}",
	"/visit/{uid}", "/visit/{uid}/also-opened", "/visit/{uid}/desk", "/visit/{uid}/leave-in", "/visit/{uid}/not-opened", "/visit/{uid}/pin", "/visit/{uid}/record",
	"/visit/{uid}/reopen", "/visit/{uid}/take",
}

// TestEveryChangeIsJudged: whoever adds a change says whether it removes something.
func TestEveryChangeIsJudged(t *testing.T) {
	deeds := map[string][]string{
		"/apiary/{id}/{deed}": slices.Collect(maps.Keys(apiaryDeeds)), "/hive/{id}/{deed}": slices.Collect(maps.Keys(hiveDeeds)),
		"/visit/{uid}/{deed}": slices.Collect(maps.Keys(visitDeeds)), "/members/{id}/{deed}": slices.Collect(maps.Keys(memberDeeds)),
		"/invitations/{club}/{deed}": {"accept", "decline"}, "/members/invited/{person}/{deed}": {"again", "withdraw"}, "/links/{id}/{deed}": {"revoke", "rotate"},
	}
	var have []string
	for _, p := range patterns(t) {
		path, posts := strings.CutPrefix(p, "POST ")
		switch {
		case !posts:
		case deeds[path] != nil:
			for _, deed := range deeds[path] {
				have = append(have, strings.Replace(path, "{deed}", deed, 1))
			}
		case strings.HasSuffix(path, "{deed}"):
			t.Errorf("the deeds of %s are not listed", path)
		default:
			have = append(have, path)
		}
	}
	have = append(have, "/bring-in/{id}/forget") // a step of its own kind
	slices.Sort(have)
	judged := slices.Sorted(slices.Values(slices.Concat(asksFirst, takenBack, removesNothing)))
	for _, path := range have {
		if !slices.Contains(judged, path) {
			t.Errorf("does %s remove anything? Name it in one of the lists", path)
		}
	}
	for _, path := range judged {
		if !slices.Contains(have, path) {
			t.Errorf("%s is judged, and is no change", path)
		}
	}
}

// TestWhateverRemovesAsksOrIsTakenBack tries each of them (common practice, no
// source).
func TestWhateverRemovesAsksOrIsTakenBack(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel, brida, dorrit := c.as("Ansel"), c.as("Brida"), c.as("Dorrit")
	v := c.visit("Quarry")
	visit, apiary := visitPath(v.UID), "/apiary/"+itoa(v.ApiaryID)
	seq := func() string { return itoa(int64(c.visitByUID(v.UID).Sequence)) }
	h, box := c.boxNamed("Q13")
	hive := "/hive/" + itoa(h.ID)
	empty, _ := c.boxNamed("O11")
	emptied := "/hive/" + itoa(empty.ID)
	corin := "/members/" + itoa(c.member["Corin"])
	link, _ := c.ownEntries("Brida", store.MemberLink)
	sheet := ansel.paste(ownTable)
	dorrit.follow("/members/invite", fields("name", "Brida O.", "email", "brida@example.org", "role", "keeper"))

	ends := endsSignIn.FindAllStringSubmatch(func() string { c.signedInFrom("Brida", phoneBrowser); return brida.get("/sign-ins").body }(), -1)
	ansel.follow(hive+"/record", recordForm(box, uuid.NewString(), "joint", "2"))
	_, box = c.boxNamed("Q13")
	opening := box.OpeningOn(today).ID

	tried := map[string]bool{}
	for _, row := range []struct {
		pattern, path string
		by            *browser
		form          url.Values
	}{
		{"/members/{id}/remove", corin + "/remove", ansel, fields()},
		{"/members/{id}/sign-out", corin + "/sign-out", ansel, fields()},
		{"/members/{id}/calendar", "/members/" + itoa(c.member["Brida"]) + "/calendar", ansel, fields("link", itoa(link))},
		{"/links/{id}/revoke", "/links/" + itoa(link) + "/revoke", brida, fields()},
		{"/hive/{id}/box-move", hive + "/box-move", ansel, fields("box", itoa(box.ID), "to", "retired", "on", today.String())},
		{"/hive/{id}/take-back", hive + "/take-back", ansel, fields("box", itoa(box.ID), "opening", opening)},
		{"/hive/{id}/colony/{what}", hive + "/colony/died", ansel, fields("on", today.String(), "rest", "store")},
		{"/visit/{uid}/cancel", visit + "/cancel", ansel, fields("sequence", seq())},
		{"/visit/{uid}/finish", visit + "/finish", ansel, fields("sequence", seq())},
		{"/members/invited/{person}/withdraw", "/members/invited/" + itoa(c.person["Brida"]) + "/withdraw", dorrit, fields()},
		{"/invitations/{club}/decline", "/invitations/" + itoa(c.other) + "/decline", brida, fields()},
		{"/passkeys/remove", "/passkeys/remove", brida, fields("passkey", "1")},
		{"/sign-ins/{id}/end", ends[0][1], brida, fields()},
		{"/sign-out-everywhere", "/sign-out-everywhere", brida, fields()},
		{"/bring-in/{id}/forget", sheet + "/forget", ansel, fields()},
		{"/apiary/{id}/remove", apiary + "/remove", ansel, fields()},
	} {
		tried[row.pattern] = true
		t.Run(row.pattern, func(t *testing.T) {
			page := row.by.post(row.path, row.form)
			if page.status == 303 || !strings.Contains(page.body, `name="sure" value="yes"`) {
				t.Errorf("it does not ask: %d %s", page.status, cutTo(page.text(), 600))
			}
			for name, values := range row.form {
				if !strings.Contains(page.body, `name="`+name+`"`) {
					t.Errorf("the question forgets %s = %s", name, values)
				}
			}
		})
	}
	for _, b := range empty.Boxes {
		ansel.follow(emptied+"/box-move", fields("box", itoa(b.ID), "to", "store", "on", today.String()))
	}
	tried["/hive/{id}/retire"] = true
	ansel.post(emptied+"/retire", fields()).says(422, "Retire the hive", "No, go back").holds(`name="sure" value="yes"`)

	from := today.String()
	for _, path := range []string{hive + "/leave", apiary + "/no-go", apiary + "/standstill", corin + "/away", "/preferences/away"} {
		ansel.follow(path, fields("from", from, "until", from, "reason", "a reason of one's own"))
	}
	out := fields("remove", "0", "from", from)
	ansel.follow(apiary+"/hives", fields("hives", "1", "boxes", "2", "lowest", "deep", "upper", "deep"))
	quarry := c.club().Apiary(v.ApiaryID)
	guessed := hivePath(quarry.Hives[len(quarry.Hives)-1].ID) + "/roughly"
	brida.follow(visit+"/take", fields("sequence", seq()))
	ansel.follow(visit+"/pin", fields("sequence", seq()))
	planned := v.Boxes[0].BoxID
	for _, row := range []struct {
		pattern, path string
		form          func() url.Values
		again         string // what the page shows once it is taken back
	}{
		{"/hive/{id}/leave", hive + "/leave", func() url.Values { return out }, "a reason of one"},
		{"/hive/{id}/roughly", guessed, func() url.Values { return fields("ago", "month") }, "last opened, roughly?"},
		{"/apiary/{id}/standstill", apiary + "/standstill", func() url.Values { return out }, "a reason of one"},
		{"/apiary/{id}/no-go", apiary + "/no-go", func() url.Values { return out }, "a reason of one"},
		{"/members/{id}/away", corin + "/away", func() url.Values { return out }, "a reason of one"},
		{"/preferences/away", "/preferences/away", func() url.Values { return out }, "a reason of one"},
		{"/apiary/{id}/keepers", apiary + "/keepers", func() url.Values { return fields() }, "Brida"},
		{"/members/{id}/role", corin + "/role", func() url.Values { return fields("role", "organiser") }, "is a keeper now"},
		{"/visit/{uid}/unpin", visit + "/unpin", func() url.Values { return fields("sequence", seq()) }, "stays"},
		{"/visit/{uid}/take-off", visit + "/take-off", func() url.Values { return fields("sequence", seq(), "box", itoa(planned)) }, "may be opened on this visit again"},
		{"/visit/{uid}/who", visit + "/who", func() url.Values { return fields("sequence", seq(), "member", itoa(c.member["Corin"])) }, "Brida"},
	} {
		tried[row.pattern] = true
		t.Run(row.pattern, func(t *testing.T) {
			ansel.follow(row.path, row.form()).takeBack(ansel).says(200, row.again)
		})
	}
	for _, pattern := range []string{"/visit/{uid}/leave", "/visit/{uid}/move", "/photo/{id}/remove"} { // below, and where photos are
		tried[pattern] = true
	}
	brida.follow(visit+"/leave", fields("sequence", seq())).takeBack(brida).says(200, "You go to Quarry")
	ansel.follow(visit+"/move", fields("sequence", seq(), "to", (v.On+1).String(), "sure", "yes")).takeBack(ansel)
	if now := c.visitByUID(v.UID); now.On != v.On {
		t.Errorf("the visit is on %s, want it back on %s", now.On, v.On)
	}
	for _, pattern := range slices.Concat(asksFirst, takenBack) {
		if !tried[pattern] {
			t.Errorf("%s is not tried", pattern)
		}
	}
}
