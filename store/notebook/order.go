package notebook

// headingDays stands for the headings that are days, beside the columns from 0.
const headingDays = -2

// clearOrders finds the order of day and month in each column of days in which some can
// be read in one way only and all of those agree.
func (t *table) clearOrders(below [][]string) map[int]Order {
	seen := map[int]map[Order]bool{}
	look := func(column int, cell string) {
		if got, ok := dayOf(unguard(cell), t.today); ok && got.order != "" {
			if seen[column] == nil {
				seen[column] = map[Order]bool{}
			}
			seen[column][got.order] = true
		}
	}
	for at, f := range t.columns {
		switch {
		case f == OnDay && at < len(t.headings):
			look(headingDays, t.headings[at])
		case f == Day || f == SetUp:
			for _, row := range below {
				if at < len(row) {
					look(at, row[at])
				}
			}
		}
	}
	out := map[int]Order{}
	for column, orders := range seen {
		for order := range orders {
			if len(orders) == 1 {
				out[column] = order
			}
		}
	}
	return out
}
