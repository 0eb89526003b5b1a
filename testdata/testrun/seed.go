package testrun

import (
	"flag"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	_ "pgregory.net/rapid" // so that its flag is there to be set
)

// seedEnv sets another seed than the usual one, for all that is drawn by lot.
const seedEnv = "PRYDAY_SEED"

const usualSeed = 429

func seed() (uint64, error) {
	text := os.Getenv(seedEnv)
	if text == "" {
		return usualSeed, nil
	}
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		return 0, fmt.Errorf("%s=%q is not a whole number from 0 on", seedEnv, text)
	}
	return n, nil
}

// Rand draws lots for a test: the same ones in every run, others in another
// test. A test that fails says how to have them drawn again.
func Rand(t testing.TB) *rand.Rand {
	t.Helper()
	n, err := seed()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("drawn with %s=%d", seedEnv, n)
		}
	})
	name := fnv.New64a()
	name.Write([]byte(t.Name()))
	return rand.New(rand.NewPCG(n, name.Sum64()))
}

// Properties are tried on the same cases in every run, too: left alone, rapid
// takes the time of day for a seed.
func init() {
	n, err := seed()
	if err != nil {
		panic(err)
	}
	if f := flag.Lookup("rapid.seed"); f.Value.String() == "0" {
		f.Value.Set(strconv.FormatUint(n, 10))
	}
}
