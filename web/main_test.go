package web

import (
	"testing"

	"pryday/store/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }
