package main

import (
	"fmt"
	"os"
	"unicode/utf8"

	"golang.org/x/term"
)

// shortestPassphrase is in letters: whoever has the file may guess for years.
const shortestPassphrase = 12

// passphraseIn reads a passphrase from a file; "" when no file is named.
func passphraseIn(file string) (string, error) {
	passphrase, err := secret("command.error.backup-secret", "", file)
	if err == nil && file != "" {
		err = longEnough(passphrase)
	}
	return passphrase, err
}

func longEnough(passphrase string) error {
	if utf8.RuneCountInString(passphrase) < shortestPassphrase {
		return complain("command.error.passphrase-short", shortestPassphrase)
	}
	return nil
}

// ask asks for a passphrase on the terminal, which does not show it. It is never
// taken from the command line, where everybody on the machine can read it.
func (t *terminal) ask(key string) (string, error) {
	f, ok := t.in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return "", complain("command.error.no-terminal")
	}
	fmt.Fprint(t.err, t.say.Say(key), " ")
	typed, err := term.ReadPassword(int(f.Fd()))
	fmt.Fprintln(t.err)
	return string(typed), err
}
