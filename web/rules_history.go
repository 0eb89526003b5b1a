package web

import (
	"fmt"
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// ruleChange is one rule that two sets of rules answer differently.
type ruleChange struct {
	Path, Words string
	Old, New    string
	Both        bool // somebody else changed it at the same time, to something else
}

// changedRules lists the rules that differ, in the order of the rules file.
func changedRules(say *text.Speaker, was, now *scheduler.Rules) []ruleChange {
	var out []ruleChange
	for _, k := range scheduler.DifferentRules(was, now) {
		words := say.Tell(k.Words())
		if stage, ok := k.Stage(); ok { // every stage has the same words
			words = say.Say("page.rule-list.in-stage", capital(say.Word(stage)), words)
		}
		out = append(out, ruleChange{Path: k.Path, Words: words, Old: plainRule(say, k, k.Get(was)), New: plainRule(say, k, k.Get(now))})
	}
	return out
}

func changedPaths(was, now *scheduler.Rules) []string {
	var out []string
	for _, k := range scheduler.DifferentRules(was, now) {
		out = append(out, k.Path)
	}
	return out
}

// historyView is every version of the rules, and two of them side by side.
type historyView struct {
	Versions  []versionLine
	Held      int
	A, B      int // compared; 0 for none
	Changes   []ruleChange
	MayChange bool
}

type versionLine struct {
	Version int
	Since   text.Text
	Changes text.Text // against the version before
	A, B    bool
}

func (s *Server) rulesHistory(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	var all []store.RulesVersion
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err == nil {
			all, err = tx.RulesVersions(r.Context())
		}
		return err
	})
	if err != nil {
		return err
	}
	v := historyView{Held: all[0].Version, MayChange: who.Role == scheduler.Organiser}
	asked := r.URL.Query().Get("a") != "" || r.URL.Query().Get("b") != ""
	v.A, v.B = int(min(parseID(r.URL.Query().Get("a")), 1<<30)), int(min(parseID(r.URL.Query().Get("b")), 1<<30))
	if !asked && len(all) > 1 {
		v.A, v.B = all[1].Version, all[0].Version
	}
	say, names := speaker(club, who.MemberID), scheduler.NewNames(club)
	var a, b *scheduler.Rules
	for i := range all {
		line := versionLine{Version: all[i].Version, Since: sinceWhen(&all[i], names), A: all[i].Version == v.A, B: all[i].Version == v.B}
		if i+1 < len(all) {
			line.Changes = text.New("page.rule-versions.changed", len(changedPaths(&all[i+1].Rules, &all[i].Rules)))
		} else {
			line.Changes = text.New("page.rule-versions.first")
		}
		if line.A {
			a = &all[i].Rules
		}
		if line.B {
			b = &all[i].Rules
		}
		v.Versions = append(v.Versions, line)
	}
	if asked && (a == nil || b == nil) {
		return fmt.Errorf("versions %d and %d of the rules: %w", v.A, v.B, store.ErrNotFound)
	}
	if a != nil && b != nil {
		v.Changes = changedRules(say, a, b)
	}
	return s.showTo(w, r, who, club, http.StatusOK, "ruleshistory", say.Say("page.rule-versions.title"), v)
}
