package faults

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

// backupRows bring back what cannot be brought back, and then what can.
func backupRows() (out []row) {
	for _, f := range []struct {
		fault, says string
	}{
		{"torn backup", ""},
		{"backup with a wrong byte", ""},
		{"wrong passphrase", "this is not its passphrase"},
	} {
		out = append(out, row{f.fault, "restore", func(t *testing.T, r *result, times int) {
			const club = "Kept Circle"
			from := newHouse(t, r, startFrom(t))
			from.bringIn(club, 10)
			want := from.must("export", "--club", club)
			dir := filepath.Dir(from.log)
			file, bad, right, wrong := filepath.Join(dir, "whole"), filepath.Join(dir, "bad"), filepath.Join(dir, "right"), filepath.Join(dir, "wrong")
			for name, words := range map[string]string{right: "seven smokers in a shed", wrong: "eight smokers in a shed"} {
				if err := os.WriteFile(name, []byte(words), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			from.must("backup", file, "--passphrase-file", right)
			whole, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			h := newHouse(t, r, startFrom(t))
			lots := testrun.Rand(t)
			for range times {
				data, secret := append([]byte(nil), whole...), right
				switch f.fault {
				case "torn backup":
					data = data[:lots.IntN(len(data))]
				case "backup with a wrong byte":
					data[lots.IntN(len(data))] ^= 0x10
				default:
					secret = wrong
				}
				if err := os.WriteFile(bad, data, 0o600); err != nil {
					t.Fatal(err)
				}
				r.times++
				r.within++
				said, err := h.try("restore", bad, "--passphrase-file", secret)
				if err == nil {
					r.bad("it was restored: %s", said)
				} else if !strings.Contains(err.Error(), f.says) {
					r.bad("it does not say %q: %v", f.says, err)
				}
			}
			if has := h.must("club", "list"); strings.Contains(has, club) {
				r.bad("something was restored: %s", has)
			}
			began := time.Now()
			h.must("restore", file, "--passphrase-file", right)
			r.back(began)
			r.ack(1)
			if h.must("export", "--club", club) != want {
				r.lost++
				r.bad("what is restored is another export")
			}
			h.isFresh(club)
		}})
	}
	return out
}
