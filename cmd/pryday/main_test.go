package main

import (
	"os"
	"testing"

	"pryday/store/storetest"
)

// asCommand in the environment has the test binary be the program itself, for
// tests that signal it.
const asCommand = "PRYDAY_TEST_COMMAND"

func TestMain(m *testing.M) {
	if os.Getenv(asCommand) != "" {
		main()
		return
	}
	storetest.Main(m)
}
