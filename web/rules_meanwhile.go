package web

import (
	"fmt"
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// proposal is a set of rules that somebody wants to hold.
type proposal struct {
	rules scheduler.Rules
	base  int  // the version that they were made from; 0 for whichever holds
	whole bool // meant as they are: no change of others' is kept
	note  string
}

// meanwhileView is what others changed about the rules since somebody began to,
// beside what that somebody would change now.
type meanwhileView struct {
	Since         []text.Text // the versions saved meanwhile, the oldest first
	Theirs, Yours []ruleChange
}

// caughtUp is a proposal put over the rules that hold.
type caughtUp struct {
	held      *store.RulesVersion
	rules     scheduler.Rules
	meanwhile *meanwhileView // nil when nobody changed anything
}

// catchUp puts what a proposal changes over the rules that hold now. Where
// others changed a rule too, the proposal's stands, and is marked.
func (p *proposal) catchUp(all []store.RulesVersion, names *scheduler.Names, say *text.Speaker) (*caughtUp, error) {
	now := &caughtUp{held: &all[0], rules: p.rules}
	if p.base == 0 || p.base == now.held.Version {
		return now, nil
	}
	var base *store.RulesVersion
	var since []text.Text
	for i := len(all) - 1; i >= 0; i-- { // from the oldest
		switch v := &all[i]; {
		case v.Version == p.base:
			base = v
		case v.Version > p.base:
			since = append(since, text.New("page.rules.since", v.Version, sinceWhen(v, names)))
		}
	}
	if base == nil {
		return nil, fmt.Errorf("version %d of the rules: %w", p.base, store.ErrNotFound)
	}
	merged, both := scheduler.MergeRules(&base.Rules, &p.rules, &now.held.Rules)
	if !p.whole {
		now.rules = merged
	}
	now.meanwhile = &meanwhileView{
		Since: since, Theirs: changedRules(say, &base.Rules, &now.held.Rules), Yours: changedRules(say, &now.held.Rules, &now.rules),
	}
	for i := range now.meanwhile.Yours {
		for _, k := range both {
			y := &now.meanwhile.Yours[i]
			y.Both = y.Both || y.Path == k.Path
		}
	}
	return now, nil
}

// catchUp reads the rules that hold and puts a proposal over them.
func (s *Server) catchUp(r *http.Request, who *visitor, p *proposal) (club *scheduler.Club, now *caughtUp, err error) {
	err = s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err != nil {
			return err
		}
		all, err := tx.RulesVersions(r.Context())
		if err != nil {
			return err
		}
		now, err = p.catchUp(all, scheduler.NewNames(club), speaker(club, who.MemberID))
		return err
	})
	return club, now, err
}

// overtaken shows the form of the rules to somebody whom another was ahead of:
// with what the other changed, and with all that was typed put over it.
func (s *Server) overtaken(w http.ResponseWriter, r *http.Request, who *visitor, p *proposal) error {
	club, now, err := s.catchUp(r, who, p)
	if err != nil {
		return err
	}
	return s.showCaughtUp(w, r, who, club, now, p.note)
}

func (s *Server) showCaughtUp(w http.ResponseWriter, r *http.Request, who *visitor, club *scheduler.Club, now *caughtUp, note string) error {
	v := s.newRulesView(club, now.held, who)
	v.Note, v.Meanwhile = note, now.meanwhile
	say := speaker(club, who.MemberID)
	status := http.StatusConflict
	v.Wrong = say.Say("page.rules.overtaken")
	if now.meanwhile == nil {
		status, v.Wrong = http.StatusUnprocessableEntity, say.Say("page.rules.cannot-be")
	}
	problems := map[string]text.Text{}
	for _, p := range now.rules.Validate() {
		problems[p.Key] = text.New("form.rule-together", plainProblem(p), allowedWith(p.Allowed))
	}
	v.Tables = ruleTables(say, &now.rules, nil, problems)
	for i := range v.Tables {
		for j := range v.Tables[i].Rules {
			path := v.Tables[i].Rules[j].Path
			v.Tables[i].Open = v.Tables[i].Open || now.meanwhile.names(path)
		}
	}
	return s.showTo(w, r, who, club, status, "rules", say.Say("page.menu.rules"), v)
}

// names reports whether somebody changed a rule.
func (m *meanwhileView) names(path string) bool {
	if m == nil {
		return false
	}
	for _, changes := range [][]ruleChange{m.Theirs, m.Yours} {
		for i := range changes {
			if changes[i].Path == path {
				return true
			}
		}
	}
	return false
}

// baseOf reads which version a form was made from. A form that does not say is
// none of ours: it could do away with anything unseen.
func baseOf(f *form) (int, error) {
	base := int(min(f.id("version"), 1<<30))
	if base == 0 {
		return 0, newProblem(http.StatusUnprocessableEntity, "problem.rules-no-version")
	}
	return base, nil
}
