package web

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/records"
)

// saveRules makes the rules of the form hold.
func (s *Server) saveRules(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p := proposal{note: noteOf(f)}
	if p.base, err = baseOf(f); err != nil {
		return err
	}
	restore := int(min(f.id("restore"), 1<<30))
	if restore == 0 {
		if p.rules = rulesOf(f); !f.ok() {
			return s.wrongRules(w, r, who, f, p.base, text.New("page.rule-list.nothing-saved"))
		}
	}
	var done store.RulesApplied
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if restore != 0 {
			old, err := tx.RulesAt(r.Context(), restore)
			if err != nil {
				return err
			}
			p.rules, p.whole = old.Rules, true
			p.note = cmp.Or(p.note, s.reader(r).Say("page.rule-list.note-again", restore))
		}
		done, err = s.applyRules(r, tx, who, &p)
		return err
	})
	switch {
	case errors.Is(err, store.ErrRulesChanged) && restore != 0:
		return s.showPreview(w, r, who, http.StatusConflict, &p)
	case errors.Is(err, store.ErrRulesChanged):
		return s.overtaken(w, r, who, &p)
	case err != nil:
		return err
	case done.Version == done.Replaced:
		return s.done(w, r, "/rules", notice{Text: s.reader(r).Say("page.rule-list.held")})
	}
	say := s.reader(r)
	lines := []string{say.Say("page.rule-list.replanned")}
	if done.Restores != 0 {
		lines = append(lines, say.Say("page.rules-back.again", done.Restores))
	}
	return s.done(w, r, "/rules", notice{
		Text: say.Say("page.rule-list.saved", done.Version), Lines: lines,
		Undo: &undo{Label: say.Say("page.rule-list.go-back", done.Replaced), Action: "/rules", Fields: [][2]string{
			{"restore", fmt.Sprint(done.Replaced)}, {"version", fmt.Sprint(done.Version)},
		}},
	})
}

// applyRules makes a proposal hold, and notes in the audit trail what changed.
func (s *Server) applyRules(r *http.Request, tx *store.Tx, who *visitor, p *proposal) (store.RulesApplied, error) {
	today, err := tx.Today(r.Context(), s.now())
	if err != nil {
		return store.RulesApplied{}, err
	}
	done, err := tx.ApplyRules(r.Context(), store.RulesEdit{Rules: p.rules, Base: p.base, AuthorID: who.MemberID, Note: p.note}, today)
	if err != nil || done.Version == done.Replaced {
		return done, err
	}
	was, err := tx.RulesAt(r.Context(), done.Replaced)
	if err != nil {
		return done, err
	}
	return done, who.note(r, tx, "change rules", text.New("audit.about.rules", done.Version, strings.Join(changedPaths(&was.Rules, &p.rules), ", ")))
}

// noteOf reads why rules are changed, in one line.
func noteOf(f *form) string { return strings.Join(strings.Fields(f.text("note", 500)), " ") }

// rulesFile sends the rules as a file.
func (s *Server) rulesFile(w http.ResponseWriter, r *http.Request, who *visitor) error {
	asked := r.URL.Query().Get("version")
	var held, v *store.RulesVersion
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if held, err = tx.Rules(r.Context()); err == nil && asked != "" {
			v, err = tx.RulesAt(r.Context(), int(min(parseID(asked), 1<<30)))
		}
		return err
	})
	if err != nil {
		return err
	}
	if v == nil || v.Version == held.Version {
		return download(w, "application/toml", fmt.Sprintf("rules-%d.toml", held.Version), records.EncodeRulesFrom(held.Version, held.Rules, s.reader(r)))
	}
	// An earlier version is taken to go back to it, over what holds by now.
	return download(w, "application/toml", fmt.Sprintf("rules-%d.toml", v.Version), records.EncodeRules(v.Rules, s.reader(r)))
}

// uploadRules reads a rules file and previews it.
func (s *Server) uploadRules(w http.ResponseWriter, r *http.Request, who *visitor) error {
	u, err := readUpload(w, r, maxRules)
	if err != nil {
		return err
	}
	rules, err := records.ParseRules(u.data)
	var wrong records.Problems
	if errors.As(err, &wrong) {
		club, held, err := s.rulesPage(r, who)
		if err != nil {
			return err
		}
		v, say := s.newRulesView(club, held, who), speaker(club, who.MemberID)
		v.Tables, v.File, v.Problems = ruleTables(say, &held.Rules, nil, nil), u.name, wrong.Texts()
		return s.showTo(w, r, who, club, http.StatusUnprocessableEntity, "rules", say.Say("page.menu.rules"), v)
	}
	if err != nil {
		return err
	}
	return s.showPreview(w, r, who, http.StatusOK, &proposal{rules: rules, base: records.RulesBase(u.data), note: s.reader(r).Say("page.rule-list.note-file", u.name)})
}
