// Command thirdparty says which modules and data of other people are in pryday.
//
//	go run ./deploy/thirdparty licences              their licences, whole, of every target
//	go run ./deploy/thirdparty bom VERSION GOARCH    a bill of materials of one target, as CycloneDX JSON
//
// Both fail on a module, or on data, whose licence is missing or not known to be allowed.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
)

func main() {
	if err := run(os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "thirdparty:", err)
		os.Exit(1)
	}
}

func run(args []string, out io.Writer) error {
	switch {
	case len(args) == 1 && args[0] == "licences":
		modules, err := linked(targets...)
		if err != nil {
			return err
		}
		if err := mayAllBeLinked(modules); err != nil {
			return err
		}
		if err := writeLicences(out, modules); err != nil {
			return err
		}
		return writeData(out, embedded)
	case len(args) == 3 && args[0] == "bom" && slices.Contains(targets, args[2]):
		modules, err := linked(args[2])
		if err != nil {
			return err
		}
		if err := mayAllBeLinked(modules); err != nil {
			return err
		}
		return writeBill(out, modules, args[1], args[2])
	}
	return fmt.Errorf("say: licences, or: bom VERSION GOARCH, which is one of %q", targets)
}

func mayAllBeLinked(modules []module) error {
	var wrong []error
	for _, m := range modules {
		wrong = append(wrong, m.mayBeLinked())
	}
	for _, d := range embedded {
		_, err := d.mayBeEmbedded()
		wrong = append(wrong, err)
	}
	return errors.Join(wrong...)
}
