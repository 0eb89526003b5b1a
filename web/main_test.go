package web

import (
	"testing"

	"pryday/store/storetest"
)

func TestMain(m *testing.M) { storetest.Main(withBrowser{m}) }

// withBrowser is the package's tests and the end of the browser that they share.
type withBrowser struct{ tests *testing.M }

func (w withBrowser) Run() int {
	defer func() { endSharedBrowser() }() // the one that there is by then
	return w.tests.Run()
}
