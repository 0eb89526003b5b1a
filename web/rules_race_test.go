package web

import (
	"context"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// twoOrganisers serves a club whose second member organises it too.
func twoOrganisers(t *testing.T) (c *testClub, ansel, brida *browser) {
	c = serveClub(t)
	c.in(func(tx *store.Tx) error {
		m, err := tx.Member(context.Background(), c.member["Brida"])
		if err != nil {
			return err
		}
		m.Role = scheduler.Organiser
		return tx.UpdateMember(context.Background(), *m)
	})
	return c, c.as("Ansel"), c.as("Brida")
}

// formOf takes the fields of the form of the rules from a page.
func formOf(a *answer) url.Values {
	v := fields()
	for _, name := range append([]string{"version", "note"}, paths()...) {
		chosen := regexp.MustCompile(`<select [^>]*name="` + regexp.QuoteMeta(name) + `".*?value="([^"]*)" selected`)
		if m := chosen.FindStringSubmatch(a.body); m != nil {
			v.Set(name, m[1])
		} else {
			v.Set(name, a.field(name))
		}
	}
	return v
}

// TestTwoSaveRulesAtOnce: both began with the same version and save in the same
// moment. One is told what the other changed, and then saves over it knowingly.
func TestTwoSaveRulesAtOnce(t *testing.T) {
	c, ansel, brida := twoOrganisers(t)
	began := c.rules().Rules
	answers := [2]*answer{}
	forms := [2]url.Values{
		ruleFormOf(began, "2", "odds_limit", "0.15", "max_days", "300", "note", "from Ansel"),
		ruleFormOf(began, "2", "odds_limit", "0,25", "notice_days", "21", "note", "from Brida"),
	}
	var wg sync.WaitGroup
	for i, b := range []*browser{ansel, brida} {
		wg.Go(func() { answers[i] = b.post("/rules", forms[i]) })
	}
	wg.Wait()
	first := 0
	if answers[0].status != 303 {
		first = 1
	}
	if answers[first].status != 303 || answers[1-first].status != 409 || c.rules().Version != 3 {
		t.Fatalf("answers %d and %d, version %d", answers[0].status, answers[1].status, c.rules().Version)
	}
	told := answers[1-first].says(409, "Somebody changed the rules", "Version 3, since", "Changed meanwhile by others", "What you would change about that", "You both changed this.")
	form := formOf(told)
	want := map[string]string{"version": "3"}
	if first == 0 { // Brida is told; hers stands where both changed, and Ansel's stays where she did not
		told.says(409, "by Ansel Whitlow: from Ansel", "15 %", "1 in 4", "21 days")
		want["odds_limit"], want["notice_days"], want["max_days"], want["note"] = "1 in 4", "21", "300", "from Brida"
	} else {
		told.says(409, "by Brida Okonjo: from Brida", "1 in 4", "15 %", "300 days")
		want["odds_limit"], want["max_days"], want["notice_days"], want["note"] = "15 %", "300", "21", "from Ansel"
	}
	for name, v := range want {
		if got := form.Get(name); got != v {
			t.Errorf("the form has %s = %q, want %q", name, got, v)
		}
	}
	[]*browser{ansel, brida}[1-first].follow("/rules", form).says(200, "Saved: version 4 holds now")
	if held := c.rules().Rules; held.MaxDays != 300 || held.NoticeDays != 21 || new(text.Speaker).ShortChance(held.OddsLimit) != want["odds_limit"] {
		t.Errorf("in the end %v, %d and %d days", held.OddsLimit, held.MaxDays, held.NoticeDays)
	}
}

// TestStaleRules begins with version 2 when version 3 holds, on each way that
// leads to saving.
func TestStaleRules(t *testing.T) {
	c, ansel, brida := twoOrganisers(t)
	began := c.rules().Rules
	ansel.follow("/rules", ruleFormOf(began, "2", "min_days", "30", "max_days", "300", "note", "a poor year")).says(200, "Saved: version 3")

	t.Run("a preview shows what was changed meanwhile, and saves on top of it", func(t *testing.T) {
		seen := brida.post("/rules/preview", ruleFormOf(began, "2", "notice_days", "21")).
			says(200, "Changed meanwhile by others", "Version 3, since", "by Ansel Whitlow: a poor year", "300 days", "21 days", "by version 3, which holds")
		if form := formOf(seen); form.Get("version") != "3" || form.Get("max_days") != "300" || form.Get("notice_days") != "21" {
			t.Errorf("the preview saves %v", form)
		}
	})
	t.Run("a form that cannot be keeps the version that it was made from", func(t *testing.T) {
		wrong := brida.post("/rules", ruleFormOf(began, "2", "notice_days", "900", "note", "mine")).says(422, "cannot be like this")
		form := formOf(wrong)
		if form.Get("version") != "2" || form.Get("notice_days") != "900" || form.Get("note") != "mine" {
			t.Errorf("the form came back as %v", form)
		}
		form.Set("notice_days", "21")
		brida.post("/rules", form).says(409, "Somebody changed the rules", "300 days")
	})
	t.Run("what cannot stand together is shown with what is wrong", func(t *testing.T) {
		for _, path := range []string{"/rules", "/rules/preview"} {
			form := ruleFormOf(began, "2", "max_days", "40", "min_days", "35")
			brida.post(path, form).says(map[string]int{"/rules": 409, "/rules/preview": 200}[path], "You both changed this.")
			form = ruleFormOf(began, "2", "max_days", "30")
			got := brida.post(path, form).says(409, "Somebody changed the rules", "is not allowed together with the rest")
			if now := formOf(got); now.Get("max_days") != "30" || now.Get("min_days") != "30" {
				t.Errorf("%s shows %v", path, now)
			}
		}
	})
	t.Run("going back to a version shows what that undoes", func(t *testing.T) {
		brida.follow("/rules", fields("restore", "2", "version", "3")).says(200, "Saved: version 4")
		for path, status := range map[string]int{"/rules": 409, "/rules/preview": 200} {
			brida.post(path, fields("restore", "3", "version", "3")).
				says(status, "Changed meanwhile by others", "Version 4, since", "by Brida Okonjo: version 2 again", "Nothing is saved yet", "300 days")
		}
	})
	t.Run("a file that says what it was made from", func(t *testing.T) {
		file := ansel.get("/rules/file")
		if !strings.HasPrefix(file.body, "# Made from version 4.") {
			t.Fatalf("the download begins %q", file.body[:60])
		}
		mine := strings.Replace(file.body, "notice_days = 14", "notice_days = 28", 1)
		brida.upload("/rules/upload", "mine.toml", mine).says(200, "28 days").hides("Changed meanwhile")
		ansel.follow("/rules", ruleFormOf(began, "4", "hold_hours", "3")).says(200, "Saved: version 5")
		seen := brida.upload("/rules/upload", "mine.toml", mine).says(200, "Changed meanwhile by others", "Version 5, since", "28 days")
		if form := formOf(seen); form.Get("hold_hours") != "3" || form.Get("notice_days") != "28" || form.Get("version") != "5" {
			t.Errorf("the preview saves %v", form)
		}
		// An earlier version comes to be restored whole, and so does a file without a word.
		old := ansel.get("/rules/file?version=3")
		seen = brida.upload("/rules/upload", "old.toml", old.body).says(200, "300 days").hides("Changed meanwhile")
		if form := formOf(seen); form.Get("hold_hours") == "3" {
			t.Error("an earlier version is mixed with what holds")
		}
	})
	t.Run("a form without a version is refused", func(t *testing.T) {
		form := ruleFormOf(began, "", "notice_days", "21")
		for _, path := range []string{"/rules", "/rules/preview"} {
			brida.post(path, form).says(422, "does not say which version")
		}
	})
	t.Run("sent twice it is saved once", func(t *testing.T) {
		form := ruleFormOf(began, "5", "odds_limit", "0.3")
		brida.follow("/rules", form).says(200, "Saved: version 6")
		brida.follow("/rules", form).says(200, "These rules hold already")
	})
	if got := c.rules().Version; got != 6 {
		t.Errorf("version %d holds in the end", got)
	}
}
