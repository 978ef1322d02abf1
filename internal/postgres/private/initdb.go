package private

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// initialise makes the cluster beside its place and moves it there when it is
// whole: killed in the middle, the next start begins anew.
func initialise(ctx context.Context, bin binaries, l layout, who owner) error {
	unfinished := filepath.Join(l.dir, "data.unfinished")
	if err := os.RemoveAll(unfinished); err != nil {
		return err
	}
	// a data folder without a version inside is none; initdb never left it so
	if err := os.Remove(l.data); err != nil && !os.IsNotExist(err) {
		return fmt.Errorf("%s is there but is no cluster: %w", l.data, err)
	}
	if err := who.folder(unfinished); err != nil {
		return err
	}
	// trust: the socket is in a folder that only its owner and root can enter
	cmd := exec.CommandContext(ctx, bin.path("initdb"), "-D", unfinished, "-U", role, "--auth=trust",
		"--encoding=UTF8", "--locale=C", "--data-checksums")
	cmd.Env = environment()
	cmd.Dir = "/"
	cmd.SysProcAttr = who.attributes()
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, bytes.TrimSpace(out))
	}
	return os.Rename(unfinished, l.data)
}

// environment is what the server gets of ours: nothing that could steer it.
func environment() []string {
	return []string{"LC_ALL=C", "TZ=UTC", "PATH=/usr/bin:/bin"}
}
