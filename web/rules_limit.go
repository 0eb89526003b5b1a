package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// limitView is the choice of how likely a hard opening may become, with what
// each choice comes to.
type limitView struct {
	Version int
	Choices []limitChoice
	Fields  [][2]string // the other rules
}

type limitChoice struct {
	Value    string // as a form carries it
	Chance   string
	Held     bool
	Work     string
	Expected string
}

// usualLimits are the limits to choose from, beside the one that holds.
var usualLimits = []float64{0.05, 0.1, 0.2, 0.25, 1. / 3}

// rulesLimit shows what the next year comes to with each limit of the odds.
func (s *Server) rulesLimit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	var held *store.RulesVersion
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Club(r.Context()); err == nil {
			held, err = tx.Rules(r.Context())
		}
		return err
	})
	if err != nil {
		return err
	}
	club.Rules = held.Rules
	say := speaker(club, who.MemberID)
	v := limitView{Version: held.Version, Fields: slices.DeleteFunc(ruleFields(&held.Rules), func(f [2]string) bool { return f[0] == "odds_limit" })}
	for _, l := range scheduler.PreviewLimits(club, limitsBeside(held.Rules.OddsLimit), club.Today(s.now())) {
		v.Choices = append(v.Choices, limitChoice{
			Value: scheduler.FormatRule(l.Limit), Chance: say.ShortChance(l.Limit), Held: l.Limit == held.Rules.OddsLimit,
			Work:     say.Say("page.rule-limit.work", text.New("page.records.visits", l.Visits), text.New("command.import.openings", l.Openings), say.Number(l.Hours, 0)),
			Expected: say.Say("page.rule-limit.expected", say.Number(l.Hard, 0), say.Number(l.Stuck, 1)),
		})
	}
	return s.showTo(w, r, who, club, http.StatusOK, "rules-limit", say.Say("page.rule-limit.title"), v)
}

// limitsBeside are the usual limits and the one that holds, the strictest first.
func limitsBeside(held float64) []float64 {
	limits := slices.Clone(usualLimits)
	if !slices.Contains(limits, held) {
		limits = append(limits, held)
	}
	slices.Sort(limits)
	return limits
}
