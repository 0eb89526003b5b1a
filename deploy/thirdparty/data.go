package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	cdx "github.com/CycloneDX/cyclonedx-go"
)

// data are facts that other people gathered, embedded in the program.
type data struct {
	name, url string
	file      string // what is embedded, from the root of the module
	about     string // the file that says whose it is, and what was changed
	licence   string // the file with the licence, whole
}

// embedded lists all data of other people.
var embedded = []data{{
	name: "GeoNames", url: "https://www.geonames.org/",
	file: "web/gazetteer/places.bin", about: "web/gazetteer/places.txt", licence: "web/gazetteer/CC-BY-4.0.txt",
}}

// allowedOfData are the licences under which data may be embedded: those that
// ask for no more than saying whose they are.
var allowedOfData = []string{"CC-BY-4.0", "CC0-1.0"}

// writeData adds the data and their licences to the list of licences.
func writeData(out io.Writer, all []data) error {
	root, err := moduleRoot()
	if err != nil {
		return err
	}
	for _, d := range all {
		for _, name := range []string{d.about, d.licence} {
			text, err := os.ReadFile(filepath.Join(root, name))
			if err != nil {
				return err
			}
			title := fmt.Sprintf("%s, data in the program: %s", d.name, filepath.Base(name))
			if _, err := fmt.Fprintf(out, "\n\n%s\n%s\n\n%s\n", title, strings.Repeat("-", len(title)), strings.Trim(string(text), "\n")); err != nil {
				return err
			}
		}
	}
	return nil
}

// mayBeEmbedded returns the licence of d, or why it may not be embedded.
func (d data) mayBeEmbedded() (string, error) {
	root, err := moduleRoot()
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(filepath.Join(root, d.licence))
	if err != nil {
		return "", err
	}
	ids := classify(text)
	if len(ids) != 1 || !slices.Contains(allowedOfData, ids[0]) {
		return "", fmt.Errorf("%s (%s): %s has the licences %q, and only one of %s may be", d.name, d.file, d.licence, ids, strings.Join(allowedOfData, ", "))
	}
	return ids[0], nil
}

// dataComponent is d as the bill names it.
func dataComponent(d data) (cdx.Component, error) {
	id, err := d.mayBeEmbedded()
	if err != nil {
		return cdx.Component{}, err
	}
	return cdx.Component{
		BOMRef: "data:" + d.name, Type: cdx.ComponentTypeData, Name: d.name, Description: d.file, Scope: cdx.ScopeRequired,
		Licenses:           &cdx.Licenses{{License: &cdx.License{ID: id}}},
		ExternalReferences: &[]cdx.ExternalReference{{Type: cdx.ERTypeWebsite, URL: d.url}},
	}, nil
}

func moduleRoot() (string, error) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}").Output()
	if err != nil {
		return "", fmt.Errorf("go list -m: %w", err)
	}
	return strings.TrimSpace(string(out)), nil
}
