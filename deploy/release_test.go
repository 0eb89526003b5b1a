// Package deploy has no code: it tests the scripts that lie beside it.
package deploy

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	_ "pryday/testdata/testrun"
)

// build makes a package of a program that is none and returns its path.
func build(t *testing.T, version, umask string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{"program": "#!/bin/sh\n", "licences": "none\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("bash", "-c", `umask $1; exec debian/package "$2/program" "$3" arm64 "$2/licences" "$2"`, "-", umask, dir, version)
	cmd.Env = append(os.Environ(), "SOURCE_DATE_EPOCH=1795661061")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	found, err := filepath.Glob(filepath.Join(dir, "*.deb"))
	if err != nil || len(found) != 1 {
		t.Fatalf("%d packages, %v", len(found), err)
	}
	return found[0]
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s %q: %v", name, args, err)
	}
	return string(out)
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// The same files give the same package, whoever builds it.
func TestPackageIsReproducible(t *testing.T) {
	once, again := read(t, build(t, "0.1.0", "022")), read(t, build(t, "0.1.0", "077"))
	if once != again {
		t.Error("two packages of the same files differ")
	}
}

func TestWhatThePackageHolds(t *testing.T) {
	deb := build(t, "0.1.0", "022")
	if got := strings.TrimSpace(run(t, "dpkg-deb", "--show", "--showformat=${Package} ${Version} ${Architecture}", deb)); got != "pryday 0.1.0 arm64" {
		t.Errorf("it is %s", got)
	}
	listed := run(t, "dpkg-deb", "--contents", deb)
	for _, want := range []string{
		`-rwxr-xr-x root/root .* \./usr/bin/pryday\n`,
		`-rw------- root/root .* \./etc/pryday/pryday\.env\n`, // passwords stand in it
		`-rw-r--r-- root/root .* \./usr/lib/systemd/system/pryday\.service\n`,
		`-rw-r--r-- root/root .* \./usr/share/doc/pryday/copyright\n`,
		`-rw-r--r-- root/root .* \./usr/share/doc/pryday/licences\.txt\.gz\n`,
	} {
		if !regexp.MustCompile(want).MatchString(listed) {
			t.Errorf("no %s among\n%s", want, listed)
		}
	}
	dir := t.TempDir()
	run(t, "dpkg-deb", "--raw-extract", deb, dir)
	if got := read(t, filepath.Join(dir, "DEBIAN/conffiles")); got != "/etc/pryday/pryday.env\n" {
		t.Errorf("an upgrade keeps what was changed in %q", got)
	}
	if unit := read(t, filepath.Join(dir, "usr/lib/systemd/system/pryday.service")); !strings.Contains(unit, "\nExecStart=/usr/bin/pryday serve\n") {
		t.Error("the unit starts another program than the one of the package")
	}
	// A daemon that starts as it was installed must tell nobody an address that is not its own.
	for line := range strings.Lines(read(t, filepath.Join(dir, "etc/pryday/pryday.env"))) {
		if !strings.HasPrefix(line, "#") && strings.TrimSpace(line) != "" {
			t.Errorf("it is installed with the setting %s", line)
		}
	}
	cmd := exec.Command("md5sum", "--check", "--quiet", "DEBIAN/md5sums")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("md5sums: %v: %s", err, out)
	}
}

// Debian sorts a version before a release only with a tilde: deb-version(7).
func TestVersionsSortAsTheyCame(t *testing.T) {
	inOrder := []struct{ version, debian string }{
		{"0.0.0-20261126025430-f93170f9c9e3", "0.0.0~20261126025430.f93170f9c9e3"},
		{"0.1.0-rc.1", "0.1.0~rc.1"},
		{"0.1.0", "0.1.0"},
		{"0.1.1-0.20261126025430-f93170f9c9e3", "0.1.1~0.20261126025430.f93170f9c9e3"},
		{"0.1.1-0.20261127025430-aa3170f9c9e3", "0.1.1~0.20261127025430.aa3170f9c9e3"},
		{"0.1.1", "0.1.1"},
	}
	before := ""
	for _, v := range inOrder {
		got := strings.TrimSpace(run(t, "dpkg-deb", "--show", "--showformat=${Version}", build(t, v.version, "022")))
		if got != v.debian {
			t.Errorf("%s is packed as %s, want %s", v.version, got, v.debian)
		}
		if err := exec.Command("dpkg", "--compare-versions", before, "lt-nl", got).Run(); before != "" && err != nil {
			t.Errorf("%s does not come after %s", got, before)
		}
		before = got
	}
}

// What the package's scripts run is noted here instead of done.
func TestScriptsNeverDeleteRecords(t *testing.T) {
	for _, test := range []struct{ script, as, runs string }{
		{"postinst", "configure", "adduser --system"},
		{"prerm", "remove", ""},
		{"prerm", "upgrade 0.2.0", ""},
		{"postrm", "remove", "deb-systemd-helper mask"},
		{"postrm", "purge", "deb-systemd-helper purge"},
	} {
		t.Run(test.script+" "+test.as, func(t *testing.T) {
			programs, noted := t.TempDir(), filepath.Join(t.TempDir(), "noted")
			for _, name := range []string{"adduser", "deluser", "userdel", "rm", "systemctl", "deb-systemd-helper", "deb-systemd-invoke"} {
				script := "#!/bin/sh\necho " + name + ` "$*" >>` + noted + "\n"
				if err := os.WriteFile(filepath.Join(programs, name), []byte(script), 0o755); err != nil {
					t.Fatal(err)
				}
			}
			cmd := exec.Command("debian/"+test.script, strings.Fields(test.as)...)
			cmd.Env = []string{"PATH=" + programs}
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			ran, _ := os.ReadFile(noted) // none when nothing ran
			if !bytes.Contains(ran, []byte(test.runs)) {
				t.Errorf("it runs\n%s, want %q", ran, test.runs)
			}
			if deletes := regexp.MustCompile(`\b(rm|rmdir|deluser|userdel)\b`); deletes.MatchString(read(t, "debian/"+test.script)) || deletes.Match(ran) {
				t.Errorf("it deletes something; it runs\n%s", ran)
			}
		})
	}
}
