package private

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"

	"wetside/internal/lab"
)

// oldest is the oldest major version that wetside works with.
const oldest = 15

// folders are where PostgreSQL is installed, besides PATH.
var folders = []string{
	"/usr/lib/postgresql/*/bin",
	"/usr/local/pgsql/bin",
	"/usr/pgsql-*/bin",
	"/usr/local/lib/postgresql/bin",
	"/usr/libexec/postgresql*",
	"/opt/homebrew/opt/postgresql@*/bin",
	"/usr/local/opt/postgresql@*/bin",
	"/Applications/Postgres.app/Contents/Versions/*/bin",
}

const missing = "no PostgreSQL 15 or newer was found on this machine; install one (Debian, Ubuntu: " +
	"sudo apt-get install postgresql; Fedora: sudo dnf install postgresql-server; macOS: brew install postgresql@17), " +
	"or name a server with --database postgres://user@host/wetside"

// binaries is a folder with initdb and postgres of one version.
type binaries struct {
	dir   string
	major int
}

func (b binaries) path(name string) string { return filepath.Join(b.dir, name) }

// findBinaries gives the newest installed, or exactly major where a cluster
// of that version is there already.
func findBinaries(ctx context.Context, search []string, major int) (binaries, error) {
	var best binaries
	for _, dir := range search {
		v, ok := version(ctx, dir)
		if !ok || v < oldest || (major != 0 && v != major) {
			continue
		}
		if v > best.major {
			best = binaries{dir, v}
		}
	}
	switch {
	case best.dir != "":
		return best, nil
	case major != 0:
		return best, lab.Errorf(lab.KindUnavailable, "the private database was made by PostgreSQL %d, which is not installed any more; install version %d, or move the data with pg_upgrade", major, major)
	}
	return best, lab.Errorf(lab.KindUnavailable, missing)
}

// searchPath lists the folders to look in, PATH first.
func searchPath() []string {
	dirs := filepath.SplitList(os.Getenv("PATH"))
	for _, pattern := range folders {
		found, _ := filepath.Glob(pattern) // the patterns are well formed
		dirs = append(dirs, found...)
	}
	return dirs
}

var versionText = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

func version(ctx context.Context, dir string) (major int, ok bool) {
	if dir == "" {
		return 0, false
	}
	for _, name := range []string{"initdb", "postgres"} {
		if st, err := os.Stat(filepath.Join(dir, name)); err != nil || st.IsDir() {
			return 0, false
		}
	}
	cmd := exec.CommandContext(ctx, filepath.Join(dir, "postgres"), "--version")
	cmd.Env = []string{"LC_ALL=C"}
	out, err := cmd.Output()
	m := versionText.FindSubmatch(out)
	if err != nil || m == nil {
		return 0, false
	}
	major, err = strconv.Atoi(string(m[1]))
	return major, err == nil
}
