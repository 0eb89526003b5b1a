package store

import (
	"fmt"
	"strings"
)

// filter is what narrows a list of rows, the newest first.
type filter struct {
	id    string // the column by which they are told apart; greater is newer
	terms []string
	args  []any
}

// by adds a term; $%d stands for its argument.
func (f *filter) by(term string, arg any) {
	f.args = append(f.args, arg)
	f.terms = append(f.terms, fmt.Sprintf(term, len(f.args)))
}

// clause is what follows the query's FROM, for at most limit rows (0: 100).
func (f *filter) clause(limit int) string {
	if limit == 0 {
		limit = 100
	}
	terms := append([]string{`true`}, f.terms...)
	return fmt.Sprintf(`WHERE %s ORDER BY %s DESC LIMIT %d`, strings.Join(terms, ` AND `), f.id, limit)
}
