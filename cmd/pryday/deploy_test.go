package main

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
)

// The env example is where an operator reads what can be set: it lists every
// variable of the daemon, and none that the daemon does not know.
func TestEnvExampleListsWhatTheDaemonReads(t *testing.T) {
	var serve struct{ serveCmd }
	parser, err := kong.New(&serve)
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{"PRYDAY_POSTGRES_BIN": true} // read by store/localpg
	for _, flags := range parser.Model.AllFlags(false) {
		for _, flag := range flags {
			for _, name := range flag.Envs {
				known[name] = true
			}
		}
	}
	if !known["PRYDAY_DATABASE_URL"] {
		t.Fatal("the daemon's variables were not found")
	}
	text, err := os.ReadFile("../../deploy/pryday.env.example")
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^#?(PRYDAY_[A-Z_]+)=`).FindAllStringSubmatch(string(text), -1) {
		listed[m[1]] = true
		if !known[m[1]] {
			t.Errorf("%s is listed, and the daemon does not read it", m[1])
		}
	}
	for name := range known {
		if !listed[name] {
			t.Errorf("%s is not listed", name)
		}
	}
}

// A calendar's address is the key to it, and so are the addresses in mails.
func TestProxyExampleLogsNoKeys(t *testing.T) {
	text, err := os.ReadFile("../../deploy/nginx.conf")
	if err != nil {
		t.Fatal(err)
	}
	_, proxied, ok := strings.Cut(string(text), "location / {")
	if block, _, _ := strings.Cut(proxied, "}"); !ok || !strings.Contains(block, "access_log off;") {
		t.Error("what is passed on to the daemon is logged with its addresses")
	}
}
