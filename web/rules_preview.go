package web

import (
	"fmt"
	"net/http"
	"strings"

	"pryday/scheduler"
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
	note := strings.Join(strings.Fields(f.text("note", 500)), " ")
	if n := int(min(f.id("restore"), 1<<30)); n != 0 {
		var old *store.RulesVersion
		err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
			old, err = tx.RulesAt(r.Context(), n)
			return err
		})
		if err != nil {
			return err
		}
		return s.showPreview(w, r, who, old.Rules, fmt.Sprintf("version %d again", n))
	}
	rules := rulesOf(f)
	if !f.ok() {
		return s.wrongRules(w, r, who, http.StatusUnprocessableEntity, f, "Some rules cannot be like this:")
	}
	return s.showPreview(w, r, who, rules, note)
}

func (s *Server) showPreview(w http.ResponseWriter, r *http.Request, who *visitor, rules scheduler.Rules, note string) error {
	var club *scheduler.Club
	var held *store.RulesVersion
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if held, err = tx.Rules(r.Context()); err == nil {
			club, err = tx.Club(r.Context())
		}
		return err
	})
	if err != nil {
		return err
	}
	v := previewView{Version: held.Version, Note: note, Changes: changedRules(&held.Rules, &rules), Fields: ruleFields(&rules)}
	if len(v.Changes) > 0 {
		v.compare(club, &rules, club.Today(s.now()), speaker(club, who.MemberID))
	}
	return s.showTo(w, r, who, club, http.StatusOK, "preview", "Rules, previewed", v)
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
