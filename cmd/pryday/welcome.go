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
	_, err = fmt.Fprintf(term.out, "\n%s\n\n  %s\n\n%s\n\n", term.say.Say("command.serve.begin"), address, term.say.Say("command.serve.until"))
	return err
}
