package localpg

import (
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
)

// account is who the server runs as. Postgres refuses to run as root.
type account struct {
	uid, gid int
	drop     bool // the daemon is root and gives its rights up for the server
}

// chooseAccount takes the daemon's own account unless that is root. Existing data
// decides before any name does: its owner is the only one that can open it. Next
// comes the owner of the state directory, for root's commands beside a daemon that
// runs as somebody else.
func chooseAccount(name string, l layout) (account, error) {
	self := account{uid: os.Getuid(), gid: os.Getgid()}
	owner, err := ownerOf(l.cluster)
	if err != nil {
		return self, err
	}
	if self.uid != 0 {
		if owner != nil && owner.uid != self.uid {
			return self, fmt.Errorf("%s belongs to %s and this process runs as %s: run it as that account, "+
				"or give it a state directory of its own", l.cluster, accountName(owner.uid), accountName(self.uid))
		}
		return self, nil
	}
	if owner == nil || owner.uid == 0 {
		if owner, err = ownerOf(l.root); err != nil {
			return self, err
		}
	}
	if owner != nil && owner.uid != 0 {
		return account{owner.uid, owner.gid, true}, nil
	}
	names := []string{name}
	if name == "" {
		names = []string{"postgres", "nobody"}
	}
	for _, n := range names {
		u, err := user.Lookup(n)
		if err != nil {
			continue
		}
		uid, _ := strconv.Atoi(u.Uid) // numeric on every system with root
		gid, _ := strconv.Atoi(u.Gid)
		if uid == 0 {
			return self, fmt.Errorf("PostgreSQL will not run as root, and account %q is root", n)
		}
		return account{uid, gid, true}, nil
	}
	return self, fmt.Errorf("PostgreSQL will not run as root, and there is no account %q to run it as", names)
}

func ownerOf(path string) (*account, error) {
	info, err := os.Lstat(path)
	if os.IsNotExist(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	stat := info.Sys().(*syscall.Stat_t)
	return &account{uid: int(stat.Uid), gid: int(stat.Gid)}, nil
}

func accountName(uid int) string {
	if u, err := user.LookupId(strconv.Itoa(uid)); err == nil {
		return u.Username
	}
	return "uid " + strconv.Itoa(uid)
}

// attributes put the server in a session of its own, so that Ctrl-C in the
// terminal reaches the daemon alone, which then stops the server in order.
func (a account) attributes() *syscall.SysProcAttr {
	attr := &syscall.SysProcAttr{Setsid: true}
	if a.drop {
		attr.Credential = &syscall.Credential{Uid: uint32(a.uid), Gid: uint32(a.gid), Groups: []uint32{uint32(a.gid)}}
	}
	return attr
}

// give makes a directory of ours private to the server's account.
func (a account) give(dir string) error {
	if a.drop {
		if err := os.Lchown(dir, a.uid, a.gid); err != nil {
			return err
		}
	}
	return os.Chmod(dir, 0o700)
}

// blockedAt finds the first directory above path that the account cannot enter,
// to explain a refusal; "" when the mode bits show none.
func (a account) blockedAt(path string) string {
	for dir := filepath.Dir(path); ; dir = filepath.Dir(dir) {
		if info, err := os.Stat(dir); err == nil {
			stat := info.Sys().(*syscall.Stat_t)
			enter := fs.FileMode(0o001)
			switch {
			case int(stat.Uid) == a.uid:
				enter = 0o100
			case int(stat.Gid) == a.gid:
				enter = 0o010
			}
			if info.Mode()&enter == 0 {
				return dir
			}
		}
		if dir == filepath.Dir(dir) {
			return ""
		}
	}
}
