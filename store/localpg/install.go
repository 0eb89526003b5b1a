package localpg

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

func usualLookup(binDir string) lookup {
	return lookup{
		explicit:  binDir,
		path:      filepath.SplitList(os.Getenv("PATH")),
		globs:     usualPlaces,
		osRelease: "/etc/os-release",
		goos:      runtime.GOOS,
		root:      os.Getuid() == 0,
	}
}

// installCommand is what a person types to install Postgres on this system, in
// the given major version, or in the distribution's own when major is 0.
func (l lookup) installCommand(major int) string {
	if l.goos == "darwin" {
		if major == 0 {
			major = 17
		}
		return fmt.Sprintf("brew install postgresql@%d", major)
	}
	version := ""
	if major != 0 {
		version = fmt.Sprint(major)
	}
	command := "your package manager's install of the PostgreSQL server " + version
	for _, id := range l.distributions() {
		switch id {
		case "debian", "ubuntu":
			command = "apt-get install postgresql"
			if version != "" {
				command += "-" + version
			}
		case "fedora", "rhel", "centos":
			command = "dnf install postgresql" + version + "-server"
		case "alpine":
			command = "apk add postgresql" + version
		case "arch":
			command = "pacman -S postgresql"
		case "suse", "opensuse":
			command = "zypper install postgresql" + version + "-server"
		default:
			continue
		}
		if !l.root {
			command = "sudo " + command
		}
		return command
	}
	return strings.TrimSpace(command)
}

// distributions reads ID and ID_LIKE of os-release(5), the most specific first.
func (l lookup) distributions() []string {
	text, err := os.ReadFile(l.osRelease)
	if err != nil {
		return nil
	}
	var id, like []string
	for line := range strings.Lines(string(text)) {
		key, value, _ := strings.Cut(strings.TrimSpace(line), "=")
		value = strings.Trim(value, `"'`)
		switch key {
		case "ID":
			id = strings.Fields(value)
		case "ID_LIKE":
			like = strings.Fields(value)
		}
	}
	return append(id, like...)
}
