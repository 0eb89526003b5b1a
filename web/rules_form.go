package web

import (
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// rulesOf reads rules from a form that shows every one of them.
func rulesOf(f *form) scheduler.Rules {
	r := scheduler.DefaultRules()
	typed := func(path string) string { return strings.TrimSpace(f.typed(path)) }
	lat, height := typed("home.latitude"), typed("home.elevation_m")
	if (lat == "") != (height == "") {
		f.bad("home.latitude", "form.place-both")
	}
	for i := range scheduler.RuleKeys() {
		k := &scheduler.RuleKeys()[i]
		value := typed(k.Path)
		if value == "" && k.Optional {
			if tableOf(k.Path) != "home" || lat == "" && height == "" {
				k.Clear(&r)
			}
			continue
		}
		if k.Shape == scheduler.NumberRule {
			value = strings.Replace(value, ",", ".", 1)
		}
		if p, ok := text.ParseChance(value); ok && k.Path == "odds_limit" {
			value = scheduler.FormatRule(p)
		}
		v, err := k.ParseRule(value)
		if err == nil {
			err = k.Set(&r, v)
		}
		if err != nil {
			f.bad(k.Path, "form.rule", cut(value), k.Allowed())
		}
	}
	if f.ok() {
		for _, p := range r.Validate() {
			f.bad(p.Key, "form.rule", plainProblem(p), allowedWith(p.Allowed))
		}
	}
	return r
}

// plainProblem is what cannot be, as forms say it.
func plainProblem(p scheduler.RuleProblem) any {
	switch p.Allowed.Key {
	case "allowed.none-when-shut":
		return requiredWords[scheduler.Required(p.Value)]
	case "allowed.one-open":
		return text.New("page.rule-list.no")
	}
	return p.Value
}

// allowedWith says what a rule may be beside the others, which have no keys on a form.
func allowedWith(allowed text.Text) text.Text {
	switch allowed.Key {
	case "allowed.fewer-days":
		return text.New("form.rule-with.fewer-days", allowed.Args...)
	case "allowed.less-gap":
		return text.New("form.rule-with.less-gap", allowed.Args...)
	case "allowed.more-hours":
		return text.New("form.rule-with.more-hours", allowed.Args...)
	case "allowed.none-when-shut":
		return text.New("form.rule-with.none-when-shut", text.New("page.rule-list.nothing"))
	case "allowed.one-open":
		return text.New("form.rule-with.one-open", text.New("page.rule-list.yes"))
	case "allowed.in-order":
		return text.New("form.rule-with.in-order", scheduler.BuildUp, scheduler.Flow, scheduler.LateSummer, scheduler.Autumn, scheduler.Winter)
	case "allowed.with-home":
		return text.New("form.rule-with.with-home", text.New("page.rule-group.home"))
	}
	return allowed
}

// wrongRules shows the form again with what is wrong in it.
func (s *Server) wrongRules(w http.ResponseWriter, r *http.Request, who *visitor, f *form, base int, wrong text.Text) error {
	club, held, err := s.rulesPage(r, who)
	if err != nil {
		return err
	}
	v, say := s.newRulesView(club, held, who), speaker(club, who.MemberID)
	v.Note, v.Wrong, v.Base = f.values.Get("note"), say.Tell(wrong), base
	v.Tables = ruleTables(say, &held.Rules, func(path string) (string, bool) {
		_, ok := f.values[path]
		return f.typed(path), ok
	}, f.Problems)
	return s.showTo(w, r, who, club, http.StatusUnprocessableEntity, "rules", say.Say("page.menu.rules"), v)
}
