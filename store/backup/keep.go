package backup

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// How many daily backups stay.
const (
	keptDays   = 7
	keptWeeks  = 4
	keptMonths = 12
)

// Keep says which of the backups made at these instants stay: the last one of
// each of the last 7 days, 4 weeks and 12 months that have any. Days, weeks
// (from Monday) and months without a backup do not count, so that a service
// that was off for long keeps what it had.
func Keep(made []time.Time) []time.Time {
	newest := slices.Clone(made)
	slices.SortFunc(newest, func(a, b time.Time) int { return b.Compare(a) })
	var keep []time.Time
	for _, period := range []struct {
		of   func(time.Time) int
		many int
	}{
		{func(t time.Time) int { return t.Year()*1000 + t.YearDay() }, keptDays},
		{func(t time.Time) int { year, week := t.ISOWeek(); return year*100 + week }, keptWeeks},
		{func(t time.Time) int { return t.Year()*100 + int(t.Month()) }, keptMonths},
	} {
		seen := map[int]bool{}
		for _, t := range newest {
			n := period.of(t.UTC())
			if !seen[n] && len(seen) < period.many {
				seen[n] = true
				keep = append(keep, t)
			}
		}
	}
	slices.SortFunc(keep, time.Time.Compare)
	return slices.CompactFunc(keep, time.Time.Equal)
}

const (
	namePrefix = "pryday-"
	nameTime   = "2006-01-02T150405Z"
	nameSuffix = ".backup"
)

// Name is the name of the daily backup made at an instant.
func Name(made time.Time) string { return namePrefix + made.UTC().Format(nameTime) + nameSuffix }

// Kept is a daily backup in its folder.
type Kept struct {
	File   string // with its folder
	MadeAt time.Time
	Bytes  int64
}

// List finds the daily backups in a folder, the oldest first; none when there is
// no such folder. Files of other names are somebody else's.
func List(folder string) ([]Kept, error) {
	entries, err := os.ReadDir(folder)
	if os.IsNotExist(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var all []Kept
	for _, e := range entries {
		made, err := time.Parse(namePrefix+nameTime+nameSuffix, e.Name())
		info, infoErr := e.Info()
		if cmp.Or(err, infoErr) == nil && info.Mode().IsRegular() {
			all = append(all, Kept{filepath.Join(folder, e.Name()), made, info.Size()})
		}
	}
	slices.SortFunc(all, func(a, b Kept) int { return a.MadeAt.Compare(b.MadeAt) })
	return all, nil
}

// clearOld removes the daily backups that need not be kept, and what such
// backups left that were cut short.
func clearOld(folder string, all []Kept) error {
	made := make([]time.Time, len(all))
	for i, b := range all {
		made[i] = b.MadeAt
	}
	keep := Keep(made)
	for _, b := range all {
		if slices.ContainsFunc(keep, b.MadeAt.Equal) {
			continue
		}
		if err := os.Remove(b.File); err != nil {
			return err
		}
	}
	entries, err := os.ReadDir(folder)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), namePrefix) && strings.Contains(e.Name(), nameSuffix+".part-") {
			removeDead(filepath.Join(folder, e.Name()))
		}
	}
	return err
}
