package main

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	cdx "github.com/CycloneDX/cyclonedx-go"
)

// writeBill writes the bill of materials of pryday in the given version, linked
// of modules for arch. Its time is SOURCE_DATE_EPOCH (reproducible-builds.org),
// and it has none without.
func writeBill(out io.Writer, modules []module, version, arch string) error {
	program := cdx.Component{BOMRef: ours, Type: cdx.ComponentTypeApplication, Name: ours, Version: version}
	program.Properties = &[]cdx.Property{{Name: "GOOS", Value: "linux"}, {Name: "GOARCH", Value: arch}}
	var components []cdx.Component
	var dependencies []cdx.Dependency
	for _, m := range modules {
		if m.path == ours {
			program.Licenses = licencesOf(m)
		} else {
			components = append(components, component(m))
		}
		uses := append([]string(nil), m.uses...)
		dependencies = append(dependencies, cdx.Dependency{Ref: m.path, Dependencies: &uses})
	}
	for _, d := range embedded {
		c, err := dataComponent(d)
		if err != nil {
			return err
		}
		components = append(components, c)
		dependencies = append(dependencies, cdx.Dependency{Ref: c.BOMRef, Dependencies: &[]string{}})
	}
	bill := cdx.NewBOM()
	bill.Metadata = &cdx.Metadata{Component: &program}
	bill.Components = &components
	bill.Dependencies = &dependencies
	if epoch := os.Getenv("SOURCE_DATE_EPOCH"); epoch != "" {
		seconds, err := strconv.ParseInt(epoch, 10, 64)
		if err != nil {
			return fmt.Errorf("SOURCE_DATE_EPOCH is %q: seconds since 1970 are allowed", epoch)
		}
		bill.Metadata.Timestamp = time.Unix(seconds, 0).UTC().Format(time.RFC3339)
	}
	return cdx.NewBOMEncoder(out, cdx.BOMFileFormatJSON).SetPretty(true).SetEscapeHTML(false).EncodeVersion(bill, cdx.SpecVersion1_6)
}

// component is m as the bill names it: by its package URL, as ECMA-427 has it.
func component(m module) cdx.Component {
	url := "pkg:golang/" + m.path + "@" + strings.ReplaceAll(m.version, "+", "%2B")
	return cdx.Component{
		BOMRef: m.path, Type: cdx.ComponentTypeLibrary, Name: m.path, Version: m.version,
		Scope: cdx.ScopeRequired, PackageURL: url, Licenses: licencesOf(m),
	}
}

func licencesOf(m module) *cdx.Licenses {
	var licences cdx.Licenses
	for _, id := range m.ids() {
		licences = append(licences, cdx.LicenseChoice{License: &cdx.License{ID: id}})
	}
	return &licences
}
