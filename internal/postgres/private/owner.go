package private

import (
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"

	"wetside/internal/lab"
)

// owner is who the server runs as.
type owner struct {
	name     string
	uid, gid int
	switches bool // we are root and become someone else
}

// serverOwner is ourselves, or when we are root the user postgres, else
// nobody: PostgreSQL refuses to run as root.
func serverOwner() (owner, error) {
	if os.Geteuid() != 0 {
		return owner{name: strconv.Itoa(os.Geteuid()), uid: os.Geteuid(), gid: os.Getegid()}, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.Atoi(u.Uid)
		gid, err2 := strconv.Atoi(u.Gid)
		if err1 == nil && err2 == nil && uid != 0 {
			return owner{name, uid, gid, true}, nil
		}
	}
	return owner{}, lab.Errorf(lab.KindUnavailable, "PostgreSQL does not run as root and there is neither a user postgres nor nobody; start wetside as another user")
}

// attributes start a process as the owner, in a group of its own: an
// interrupt from the keyboard is for us, who then end the server in order.
func (o owner) attributes() *syscall.SysProcAttr {
	attr := &syscall.SysProcAttr{Setpgid: true}
	if o.switches {
		attr.Credential = &syscall.Credential{Uid: uint32(o.uid), Gid: uint32(o.gid), Groups: []uint32{uint32(o.gid)}}
	}
	return attr
}

// folder makes a folder of the owner's that nobody else can enter, or takes
// one that is already so. A folder of anybody else's is refused: who owns the
// socket's folder can pose as the database.
func (o owner) folder(path string) error {
	if err := os.Mkdir(path, 0o700); err == nil {
		return os.Chown(path, o.uid, o.gid)
	} else if !os.IsExist(err) {
		return err
	}
	st, err := os.Lstat(path)
	if err != nil {
		return err
	}
	sys, ok := st.Sys().(*syscall.Stat_t)
	if !ok || !st.IsDir() || (int(sys.Uid) != o.uid && int(sys.Uid) != os.Geteuid()) {
		return lab.Errorf(lab.KindInvalid, "%s belongs to someone else; the private database needs a folder of its own", path)
	}
	if int(sys.Uid) != o.uid { // ours: an earlier start was killed before it gave it away
		if err := os.Chown(path, o.uid, o.gid); err != nil {
			return err
		}
	}
	return os.Chmod(path, 0o700)
}

// reaches checks that the owner can walk to path, which exists.
func (o owner) reaches(path string) error {
	if !o.switches {
		return nil
	}
	for dir := path; ; dir = filepath.Dir(dir) {
		st, err := os.Stat(dir)
		if err != nil {
			return err
		}
		if !o.mayEnter(st) {
			return lab.Errorf(lab.KindInvalid, "user %s, as whom the private database runs, cannot enter %s; choose a --data folder elsewhere, such as /var/lib/wetside, or allow it with chmod o+x %s", o.name, dir, dir)
		}
		if dir == filepath.Dir(dir) {
			return nil
		}
	}
}

func (o owner) mayEnter(st os.FileInfo) bool {
	sys, ok := st.Sys().(*syscall.Stat_t)
	if !ok {
		return true
	}
	mode := st.Mode().Perm()
	switch {
	case int(sys.Uid) == o.uid:
		return mode&0o100 != 0
	case int(sys.Gid) == o.gid:
		return mode&0o010 != 0
	}
	return mode&0o001 != 0
}
