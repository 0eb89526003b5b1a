package main

import (
	"os"
	"strings"

	"pryday/scheduler/text"
)

// secret takes a value from a flag or from a file, not from both.
func secret(what, value, file string) (string, error) {
	if file == "" {
		return value, nil
	}
	if value != "" {
		return "", complain("command.error.secret-twice", text.New(what))
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return "", complain("command.error.secret-file", text.New(what), err)
	}
	if value = strings.TrimSpace(string(data)); value == "" {
		return "", complain("command.error.secret-empty", text.New(what), file)
	}
	return value, nil
}
