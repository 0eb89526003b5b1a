package main

import (
	"fmt"
	"os"
	"path/filepath"
)

// scratchFolder holds what is uploaded while it is read, within the state
// directory: nothing else need be writable, and on its disk there is room.
const scratchFolder = "scratch"

// clearScratch makes the folder for what is uploaded and empties it of what a
// killed service left there, and has the program use it unless TMPDIR names
// another.
func clearScratch(stateDir string, env func(string) string, setenv func(name, value string) error) error {
	if setenv == nil || env("TMPDIR") != "" {
		return nil
	}
	state, err := stateDirectory(stateDir)
	if err != nil {
		return err
	}
	scratch := filepath.Join(state, scratchFolder)
	if err := os.RemoveAll(scratch); err != nil {
		return fmt.Errorf("clear what earlier uploads left: %w", err)
	}
	if err := os.MkdirAll(scratch, 0o700); err != nil {
		return fmt.Errorf("make room for uploads: %w", err)
	}
	return setenv("TMPDIR", scratch)
}
