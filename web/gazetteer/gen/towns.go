package main

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"pryday/web/gazetteer"
)

// town is a line of GeoNames' list.
type town struct {
	name                string
	spellings           []string // the name first
	latitude, longitude int      // thousandths of a degree
	elevation, people   int
	zone, region        string
}

// The columns of GeoNames' lists (readme.txt of its dump).
const (
	colName       = 1
	colASCII      = 2
	colAlternates = 3
	colLatitude   = 4
	colLongitude  = 5
	colFeature    = 7
	colCountry    = 8
	colRegion     = 10
	colPeople     = 14
	colGround     = 16 // of a model of the ground; colElevation 15 is mostly empty
	colZone       = 17
	colChanged    = 18
	columns       = 19
)

// gone are places where nobody lives: abandoned, destroyed, of history alone.
var gone = []string{"PPLQ", "PPLW", "PPLH", "PPLCH", ""}

// readTowns reads the list, without what is gone, and says the day of the
// youngest entry.
func readTowns(r io.Reader) (towns []town, newest string, err error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	for n := 1; lines.Scan(); n++ {
		c := strings.Split(lines.Text(), "\t")
		if len(c) != columns {
			return nil, "", fmt.Errorf("line %d has %d columns, not %d", n, len(c), columns)
		}
		if slices.Contains(gone, c[colFeature]) {
			continue
		}
		t, err := readTown(c)
		if err != nil {
			return nil, "", fmt.Errorf("line %d: %w", n, err)
		}
		towns, newest = append(towns, t), max(newest, c[colChanged])
	}
	return towns, newest, lines.Err()
}

func readTown(c []string) (town, error) {
	t := town{name: c[colName], zone: c[colZone], region: c[colCountry] + "." + c[colRegion]}
	lat, err := strconv.ParseFloat(c[colLatitude], 64)
	if err != nil {
		return t, err
	}
	lon, err := strconv.ParseFloat(c[colLongitude], 64)
	if err != nil {
		return t, err
	}
	t.latitude, t.longitude = thousandths(lat), thousandths(lon)
	if t.elevation, err = strconv.Atoi(c[colGround]); err != nil || t.elevation == -9999 {
		t.elevation = 0
	}
	if t.people, err = strconv.Atoi(c[colPeople]); err != nil {
		return t, err
	}
	t.people = twoDigits(t.people)
	t.spellings = spellings(t.name, c[colASCII], strings.Split(c[colAlternates], ","), t.people >= otherNamesFrom(c[colCountry]))
	return t, nil
}

// otherNamesFrom is how many people a place of a country has that is kept with
// all its names. Smaller ones seldom have several that people use, but where
// German is one of several languages, or was.
func otherNamesFrom(country string) int {
	switch country {
	case "AT", "BE", "CH", "CZ", "DE", "DK", "HU", "IT", "LI", "LU", "NL", "PL", "RO", "SI", "SK":
		return 0
	case "CN", "FR", "MX", "US":
		return 10_000
	}
	return 2000
}

// spellings are the names of a place, its own first, each way of folding once.
func spellings(name, ascii string, others []string, all bool) []string {
	out := []string{name}
	known := map[string]bool{gazetteer.Fold(name): true}
	add := func(s string) {
		if folded := gazetteer.Fold(s); folded != "" && !known[folded] {
			known[folded] = true
			out = append(out, s)
		}
	}
	add(ascii)
	for _, s := range others {
		if all && worthKnowing(s) {
			add(s)
		}
	}
	return out
}

// worthKnowing leaves out codes of airports, and what a machine made of another
// script, which begins in lower case.
func worthKnowing(s string) bool {
	first, _ := utf8.DecodeRuneInString(strings.TrimLeft(s, "'’‘`"))
	code := utf8.RuneCountInString(s) <= 4 && strings.ToUpper(s) == s
	if !unicode.Is(unicode.Latin, first) || !unicode.IsUpper(first) || code {
		return false
	}
	for _, r := range s {
		if unicode.IsLetter(r) && !unicode.Is(unicode.Latin, r) {
			return false
		}
	}
	return true
}

func twoDigits(n int) int {
	unit := 1
	for n/unit >= 100 {
		unit *= 10
	}
	return (n + unit/2) / unit * unit
}

func thousandths(degrees float64) int {
	if degrees < 0 {
		return -int(-degrees*1000 + 0.5)
	}
	return int(degrees*1000 + 0.5)
}
