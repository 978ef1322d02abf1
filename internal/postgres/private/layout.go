package private

import (
	"crypto/sha256"
	"encoding/hex"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"wetside/internal/lab"
)

// maxSocketPath is what a socket address holds on Linux; elsewhere a little less.
const maxSocketPath = 103

// Names of the role and the database in the cluster.
const (
	role     = "wetside"
	database = "wetside"
)

const socketFile = ".s.PGSQL.5432"

// layout is where the parts of a private cluster are.
type layout struct {
	dir    string // all of it
	data   string // the cluster
	socket string // folder of the socket
	log    string
}

func newLayout(dir string) (layout, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return layout{}, err
	}
	if resolved, err := filepath.EvalSymlinks(abs); err == nil {
		abs = resolved // one folder, one socket, whatever way it is named
	}
	l := layout{dir: abs, data: filepath.Join(abs, "data"), log: filepath.Join(abs, "server.log")}
	l.socket, err = socketFolder(abs)
	return l, err
}

// socketFolder is run/ in the folder, or a short one named after it.
func socketFolder(dir string) (string, error) {
	sum := sha256.Sum256([]byte(dir))
	short := "wetside-" + hex.EncodeToString(sum[:8])
	for _, candidate := range []string{filepath.Join(dir, "run"), filepath.Join(os.TempDir(), short), filepath.Join("/tmp", short)} {
		if len(filepath.Join(candidate, socketFile)) <= maxSocketPath {
			return candidate, nil
		}
	}
	return "", lab.Errorf(lab.KindInvalid, "there is no folder with a path short enough for a socket: %s is too long", dir)
}

func (l layout) url(db string) string {
	q := url.Values{"host": {l.socket}, "port": {"5432"}, "user": {role}, "sslmode": {"disable"}}
	return (&url.URL{Scheme: "postgres", Path: "/" + db, RawQuery: q.Encode()}).String()
}

// major is the version that made the cluster, 0 where there is none.
func (l layout) major() int {
	b, err := os.ReadFile(filepath.Join(l.data, "PG_VERSION"))
	if err != nil {
		return 0
	}
	v, _ := strconv.Atoi(strings.TrimSpace(string(b)))
	return v
}

// running gives the process id of the server that holds the data folder, 0
// where there is none. The file may be left over from a killed one and its
// number be another process by now.
func (l layout) running() int {
	b, err := os.ReadFile(l.pidFile())
	if err != nil {
		return 0
	}
	first, _, _ := strings.Cut(string(b), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(first))
	if err != nil || pid <= 1 || !isServer(pid, l.data) {
		return 0
	}
	return pid
}

func (l layout) pidFile() string { return filepath.Join(l.data, "postmaster.pid") }
