package private

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"

	"wetside/internal/lab"
)

// Tool finds one of PostgreSQL's own programs, such as pg_dump, that is at
// least of a major version: a program does not read a server newer than itself.
// The newest that is installed is taken; of two the one in a folder of its version,
// since the one in PATH may be a script that chooses another.
func Tool(ctx context.Context, name string, atLeast int) (path string, err error) {
	newest := 0
	for _, dir := range searchPath() {
		candidate := filepath.Join(dir, name)
		if st, err := os.Stat(candidate); err != nil || st.IsDir() {
			continue
		}
		if major, ok := toolVersion(ctx, candidate); ok && major >= atLeast && major >= newest {
			path, newest = candidate, major
		}
	}
	if path == "" {
		return "", lab.Errorf(lab.KindUnavailable, "%s of PostgreSQL %d or newer was not found on this machine; install it (Debian, Ubuntu: sudo apt-get install postgresql-client)", name, atLeast)
	}
	return path, nil
}

func toolVersion(ctx context.Context, path string) (major int, ok bool) {
	cmd := exec.CommandContext(ctx, path, "--version")
	cmd.Env = []string{"LC_ALL=C", "PATH=" + os.Getenv("PATH"), "PGCLUSTER=", "HOME=" + os.Getenv("HOME")}
	out, err := cmd.Output()
	m := versionText.FindSubmatch(out)
	if err != nil || m == nil {
		return 0, false
	}
	major, err = strconv.Atoi(string(m[1]))
	return major, err == nil
}
