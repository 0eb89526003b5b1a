// Package testdata holds the invented club of the demonstration. Its people,
// places and records are made up; see gen for how.
package testdata

import _ "embed"

// Demo is the records document of the invented club.
//
//go:embed demo.json
var Demo []byte

// DemoDay is the civil day on which the story begins, a Thursday in spring.
const DemoDay = "2027-04-29"
