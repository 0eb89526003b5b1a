package web

import (
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// previewView is what other rules would change, beside the present ones.
type previewView struct {
	Version int // that holds, and was compared with
	Note    string
	Changes []ruleChange
	Numbers []previewNumber
	Moves   []moveLine
	More    int // moves beyond those shown
	Fields  [][2]string

	SeasonNow, SeasonThen *rulesSeason // nil where the year stays as it is

	Meanwhile *meanwhileView
}

// previewNumber is one outcome of the coming year under both sets of rules.
type previewNumber struct {
	What      string
	Now, Then string
	Word      string // of the difference
}

// moveLine is a visit that would be on another day, or not at all.
type moveLine struct {
	Apiary   string
	Boxes    string // that it opens
	From, To string // empty for none
}

// shownMoves is how many moves a page shows.
const shownMoves = 60

// previewRules shows what the rules of the form, or of an earlier version,
// would change.
func (s *Server) previewRules(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p := proposal{note: noteOf(f)}
	if p.base, err = baseOf(f); err != nil {
		return err
	}
	if n := int(min(f.id("restore"), 1<<30)); n != 0 {
		var old *store.RulesVersion
		err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
			old, err = tx.RulesAt(r.Context(), n)
			return err
		})
		if err != nil {
			return err
		}
		p.rules, p.whole, p.note = old.Rules, true, s.reader(r).Say("page.rule-list.note-again", n)
		return s.showPreview(w, r, who, http.StatusOK, &p)
	}
	if p.rules = rulesOf(f); !f.ok() {
		return s.wrongRules(w, r, who, f, p.base, text.New("page.rules.cannot-be"))
	}
	return s.showPreview(w, r, who, http.StatusOK, &p)
}

// showPreview shows what a proposal would change about the rules that hold,
// and what others changed since it was begun.
func (s *Server) showPreview(w http.ResponseWriter, r *http.Request, who *visitor, status int, p *proposal) error {
	club, now, err := s.catchUp(r, who, p)
	if err != nil {
		return err
	}
	if len(now.rules.Validate()) > 0 {
		return s.showCaughtUp(w, r, who, club, now, p.note)
	}
	say := speaker(club, who.MemberID)
	v := previewView{
		Version: now.held.Version, Note: p.note, Changes: changedRules(say, &now.held.Rules, &now.rules), Fields: ruleFields(&now.rules),
		Meanwhile: now.meanwhile,
	}
	if len(v.Changes) > 0 {
		var back []scheduler.VisitMove
		if err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
			if club, err = tx.Club(r.Context()); err == nil {
				back, err = tx.MovesBack(r.Context(), &now.rules)
			}
			return err
		}); err != nil {
			return err
		}
		club.Rules = now.held.Rules // somebody may have been ahead of us since
		v.compareSeasons(s.rulesSeason(club, &now.held.Rules, say), s.rulesSeason(club, &now.rules, say))
		today := club.Today(s.now())
		v.compare(scheduler.Preview(club, now.rules, today, back...), club, today, say)
	}
	return s.showTo(w, r, who, club, status, "preview", say.Say("page.rule-preview.title"), v)
}

// ruleFields carries rules through a form.
func ruleFields(r *scheduler.Rules) [][2]string {
	var out [][2]string
	for i := range scheduler.RuleKeys() {
		k := &scheduler.RuleKeys()[i]
		out = append(out, [2]string{k.Path, scheduler.FormatRule(k.Get(r))})
	}
	return out
}
