package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/store"
	"pryday/store/records"
)

// saveRules makes the rules of the form hold.
func (s *Server) saveRules(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	note := strings.Join(strings.Fields(f.text("note", 500)), " ")
	var rules scheduler.Rules
	seen, restore := int(f.id("version")), int(f.id("restore"))
	if restore == 0 {
		if rules = rulesOf(f); !f.ok() {
			return s.wrongRules(w, r, who, http.StatusUnprocessableEntity, f, "Nothing was saved. Some rules cannot be like this:")
		}
	}
	var version, before int
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		held, err := tx.Rules(r.Context())
		if err != nil {
			return err
		}
		if before = held.Version; before != seen {
			return errRulesChanged
		}
		if restore != 0 {
			old, err := tx.RulesAt(r.Context(), restore)
			if err != nil {
				return err
			}
			rules = old.Rules
			if note == "" {
				note = fmt.Sprintf("version %d again", restore)
			}
		}
		today, err := tx.Today(r.Context(), s.now())
		if err != nil {
			return err
		}
		if version, err = tx.ApplyRules(r.Context(), rules, who.MemberID, note, today); err != nil || version == before {
			return err
		}
		return who.note(r, tx, "change rules", "version %d: %s", version, strings.Join(changedPaths(&held.Rules, &rules), ", "))
	})
	switch {
	case errors.Is(err, errRulesChanged):
		if restore != 0 {
			return newProblem(http.StatusConflict, "problem.rules-changed")
		}
		return s.wrongRules(w, r, who, http.StatusConflict, f, "Somebody changed the rules since you opened this page. Nothing was saved: what you wrote stands below. Compare it with the versions, and preview it again.")
	case err != nil:
		return err
	case version == before:
		return s.done(w, r, "/rules", notice{Text: "These rules hold already. Nothing was changed."})
	}
	return s.done(w, r, "/rules", notice{
		Text: fmt.Sprintf("Saved: version %d holds now.", version), Lines: []string{"The visits are being planned anew; that takes seconds in a small club."},
		Undo: &undo{Label: fmt.Sprintf("Go back to version %d", before), Action: "/rules", Fields: [][2]string{
			{"restore", fmt.Sprint(before)}, {"version", fmt.Sprint(version)},
		}},
	})
}

var errRulesChanged = errors.New("the rules have changed")

// rulesFile sends the rules as a file.
func (s *Server) rulesFile(w http.ResponseWriter, r *http.Request, who *visitor) error {
	asked := r.URL.Query().Get("version")
	var v *store.RulesVersion
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if asked == "" {
			v, err = tx.Rules(r.Context())
		} else {
			v, err = tx.RulesAt(r.Context(), int(min(parseID(asked), 1<<30)))
		}
		return err
	})
	if err != nil {
		return err
	}
	return download(w, "application/toml", fmt.Sprintf("rules-%d.toml", v.Version), records.EncodeRules(v.Rules))
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
		v := newRulesView(club, held, who)
		v.Tables, v.File = ruleTables(&held.Rules, nil, nil), u.name
		for _, p := range wrong {
			v.Problems = append(v.Problems, p.String())
		}
		return s.showTo(w, r, who, club, http.StatusUnprocessableEntity, "rules", "Rules", v)
	}
	if err != nil {
		return err
	}
	return s.showPreview(w, r, who, rules, "from the file "+u.name)
}
