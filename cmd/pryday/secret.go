package main

import (
	"fmt"
	"os"
	"strings"
)

// secret takes a value from a flag or from a file, not from both.
func secret(what, value, file string) (string, error) {
	if file == "" {
		return value, nil
	}
	if value != "" {
		return "", fmt.Errorf("the %s is given both as a value and as a file; take one away", what)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return "", fmt.Errorf("the %s: %w", what, err)
	}
	if value = strings.TrimSpace(string(data)); value == "" {
		return "", fmt.Errorf("the %s: the file %s is empty", what, file)
	}
	return value, nil
}
