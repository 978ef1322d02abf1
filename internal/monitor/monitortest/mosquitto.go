package monitortest

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wetside/internal/labtest"
)

// Mosquitto runs a broker that isn't ours, with the settings for durability
// and throughput of deploy/mosquitto.conf.
func Mosquitto(t testing.TB) (port int, url string) {
	t.Helper()
	path := labtest.Need(t, "mosquitto", "mosquitto")
	dir := t.TempDir()
	port = FreePort(t)
	conf := []string{
		fmt.Sprintf("listener %d 127.0.0.1", port), "allow_anonymous true", "user " + userName(),
		"persistence_location " + dir + "/", "log_dest stderr",
	}
	shared, err := os.ReadFile(fromRoot(t, "deploy/mosquitto.conf"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(shared)) {
		for _, keep := range []string{"persistence ", "autosave_", "max_", "set_tcp_nodelay "} {
			if strings.HasPrefix(line, keep) {
				conf = append(conf, strings.TrimSpace(line))
			}
		}
	}
	file := filepath.Join(dir, "mosquitto.conf")
	if err := os.WriteFile(file, []byte(strings.Join(conf, "\n")+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	p := StartProcess(t, exec.Command(path, "-c", file))
	addr := fmt.Sprintf("127.0.0.1:%d", port)
	labtest.Poll(t, "mosquitto listens", func() bool { return Listens(addr) || Ended(p) })
	if Ended(p) {
		t.Fatalf("mosquitto ended: %s", p.Log.Tail(2000))
	}
	return port, "mqtt://" + addr
}

// fromRoot is the path of a file of the repository.
func fromRoot(t testing.TB, path string) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for ; dir != filepath.Dir(dir); dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return filepath.Join(dir, filepath.FromSlash(path))
		}
	}
	t.Fatalf("%s: there is no go.mod above the test's folder", path)
	return ""
}

func userName() string {
	if os.Geteuid() == 0 {
		return "root"
	}
	return "mosquitto" // only root's wish to become somebody else counts
}
