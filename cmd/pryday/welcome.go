package main

import (
	"context"
	"fmt"
)

// welcome prints the set-up address while no club has an organiser: the one
// way in before anybody can be mailed a sign-in address.
func (d *daemon) welcome(ctx context.Context, term *terminal) error {
	address, err := d.pages.SetupAddress(ctx)
	if err != nil || address == "" {
		return err
	}
	_, err = fmt.Fprintf(term.out, `
Nobody looks after a club here yet. Begin in a browser:

  %s

The address works until there is a first organiser. Keep it to yourself until
then. To bring in records instead, while this runs: pryday import FILE

`, address)
	return err
}
