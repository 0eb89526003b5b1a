package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	cdx "github.com/CycloneDX/cyclonedx-go"

	_ "pryday/testdata/testrun"
)

// Every module in the program has a licence that lets us give it away; -v lists
// them.
func TestEveryLinkedModuleHasAnAllowedLicence(t *testing.T) {
	modules, err := linked(targets...)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{ours, standardLibrary, "github.com/jackc/pgx/v5"} {
		if !slices.ContainsFunc(modules, func(m module) bool { return m.path == path }) {
			t.Errorf("%s is not listed", path)
		}
	}
	for _, m := range modules {
		t.Log(m.path, m.version, m.ids())
		if err := m.mayBeLinked(); err != nil {
			t.Error(err)
		}
	}
}

const (
	isc = "Copyright (c) 2020 Somebody\n\nPermission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby granted, " +
		"provided that the above copyright notice and this permission notice appear in all copies.\n\n" +
		"THE SOFTWARE IS PROVIDED \"AS IS\" AND THE AUTHOR DISCLAIMS ALL WARRANTIES WITH REGARD TO THIS SOFTWARE INCLUDING ALL IMPLIED WARRANTIES OF " +
		"MERCHANTABILITY AND FITNESS. IN NO EVENT SHALL THE AUTHOR BE LIABLE FOR ANY SPECIAL, DIRECT, INDIRECT, OR CONSEQUENTIAL DAMAGES OR ANY DAMAGES " +
		"WHATSOEVER RESULTING FROM LOSS OF USE, DATA OR PROFITS, WHETHER IN AN ACTION OF CONTRACT, NEGLIGENCE OR OTHER TORTIOUS ACTION, ARISING OUT OF OR " +
		"IN CONNECTION WITH THE USE OR PERFORMANCE OF THIS SOFTWARE.\n"
	gpl = "This program is free software: you can redistribute it and/or modify it under the terms of the GNU General Public License as published by the " +
		"Free Software Foundation, either version 3 of the License, or (at your option) any later version.\n"
)

func TestWhatMayBeLinked(t *testing.T) {
	for _, test := range []struct {
		name  string
		files map[string]string
		says  string // why it may not; nothing when it may
	}{
		{"a known licence", map[string]string{"LICENSE": isc}, ""},
		{"under another name", map[string]string{"COPYING.md": isc}, ""},
		{"with a notice", map[string]string{"LICENSE": isc, "NOTICE": "By somebody.\n"}, ""},
		{"for another part", map[string]string{"LICENSE": isc, "other/LICENSE": gpl}, ""},
		{"none", map[string]string{"README.md": isc}, "has no licence"},
		{"none but source of that name", map[string]string{"licence.go": isc}, "has no licence"},
		{"a notice alone", map[string]string{"NOTICE": "By somebody.\n"}, "has no licence"},
		{"an empty file", map[string]string{"LICENSE": ""}, "LICENSE is no known licence"},
		{"with a restriction", map[string]string{"LICENSE": isc + "It may not be used for the purposes of a business of any kind.\n"}, "or one with additions"},
		{"one not allowed", map[string]string{"LICENSE": gpl}, "has the licence GPL-3.0-or-later, and only Apache-2.0,"},
		{"one not allowed for the part that is linked", map[string]string{"LICENSE": isc, "part/inner/License.txt": gpl}, "GPL-3.0-or-later"},
	} {
		t.Run(test.name, func(t *testing.T) {
			root := t.TempDir()
			part := filepath.Join(root, "part", "inner")
			for name, text := range test.files {
				path := filepath.Join(root, name)
				if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if err := os.MkdirAll(part, 0o755); err != nil {
				t.Fatal(err)
			}
			files, err := readLicences(root, []string{part})
			if err != nil {
				t.Fatal(err)
			}
			err = module{path: "example.org/m", version: "v1.0.0", licences: files}.mayBeLinked()
			if (err == nil) != (test.says == "") || err != nil && !strings.Contains(err.Error(), test.says) {
				t.Errorf("says %v, want %q", err, test.says)
			}
		})
	}
}

func TestLicencesAreGivenWhole(t *testing.T) {
	var out bytes.Buffer
	err := writeLicences(&out, []module{
		{path: "example.org/m", version: "v1.0.0", licences: []licenceFile{{"LICENSE", isc, []string{"ISC"}}, {"NOTICE", "By somebody.\n", nil}}},
		{path: ours, licences: []licenceFile{{"LICENSE", "our own", []string{"MIT"}}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"example.org/m v1.0.0: LICENSE\n", isc, "example.org/m v1.0.0: NOTICE\n", "By somebody."} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in the text", want)
		}
	}
	if strings.Contains(out.String(), "our own") {
		t.Error("our own licence is among those of other people")
	}
}

// Section 3(a)(1) of CC BY 4.0: whose it is, the licence, no warranty, that it was
// changed, and where it is to be had.
func TestDataAreNamedWithTheirLicence(t *testing.T) {
	var out bytes.Buffer
	if err := writeData(&out, embedded); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"GeoNames", "https://www.geonames.org/", "https://creativecommons.org/licenses/by/4.0/", "without any warranty", "Changed in it",
		"Creative Commons Attribution 4.0 International Public", "Section 3 -- License Conditions.",
	} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in the text", want)
		}
	}
	if _, err := (data{name: "other", licence: "LICENSE"}).mayBeEmbedded(); err == nil || !strings.Contains(err.Error(), "MIT") {
		t.Errorf("data under another licence: %v", err)
	}
}

func TestBillOfMaterials(t *testing.T) {
	modules := []module{
		{path: "example.org/m", version: "v2.0.0+incompatible", licences: []licenceFile{{"LICENSE", isc, []string{"ISC"}}}, uses: []string{standardLibrary}},
		{path: ours, licences: []licenceFile{{"LICENSE", "", []string{"MIT"}}}, uses: []string{"example.org/m", standardLibrary}},
		{path: standardLibrary, version: "go1.26.0", licences: []licenceFile{{"LICENSE", "", []string{"BSD-3-Clause"}}}},
	}
	t.Setenv("SOURCE_DATE_EPOCH", "86400")
	var out bytes.Buffer
	if err := writeBill(&out, modules, "0.1.0", "arm64"); err != nil {
		t.Fatal(err)
	}
	var bill cdx.BOM
	if err := cdx.NewBOMDecoder(&out, cdx.BOMFileFormatJSON).Decode(&bill); err != nil {
		t.Fatal(err)
	}
	if c := bill.Metadata.Component; c.Name != "pryday" || c.Version != "0.1.0" || bill.Metadata.Timestamp != "1970-01-02T00:00:00Z" {
		t.Errorf("%s %s of %s", c.Name, c.Version, bill.Metadata.Timestamp)
	}
	if n := len(*bill.Components); n != 3 {
		t.Errorf("%d components, want the module, the standard library and the places", n)
	}
	if d := (*bill.Components)[2]; d.Type != cdx.ComponentTypeData || d.Name != "GeoNames" || (*d.Licenses)[0].License.ID != "CC-BY-4.0" {
		t.Errorf("the data are %s of %s under %+v", d.Type, d.Name, d.Licenses)
	}
	m := (*bill.Components)[0]
	if m.PackageURL != "pkg:golang/example.org/m@v2.0.0%2Bincompatible" || (*m.Licenses)[0].License.ID != "ISC" {
		t.Errorf("the module is %s under %+v", m.PackageURL, m.Licenses)
	}
	for _, d := range *bill.Dependencies {
		if d.Ref == ours && !slices.Equal(*d.Dependencies, []string{"example.org/m", standardLibrary}) {
			t.Errorf("pryday depends on %q", *d.Dependencies)
		}
	}
}

func TestWrongCommandLine(t *testing.T) {
	for _, args := range [][]string{nil, {"licences", "more"}, {"bom", "0.1.0"}, {"bom", "0.1.0", "sparc"}} {
		if err := run(args, &bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), "amd64") {
			t.Errorf("%q: %v", args, err)
		}
	}
}
