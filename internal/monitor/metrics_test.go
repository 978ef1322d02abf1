package monitor_test

import (
	"bufio"
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// What /metrics tells of wetside itself stands in the table of
// deploy/years.md, kind and meaning, and nothing else does.
func TestMetricsAreDocumented(t *testing.T) {
	t.Parallel()
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: monitor.Embedded, MQTTListen: "127.0.0.1:0", Database: database, Data: t.TempDir()})
	monitortest.Ready(t, p.URL())
	api := monitortest.NewAPI(t, p.URL(), pgtest.Store(t, monitortest.StoreConfig(database)))
	code, told, err := api.Do("GET", "/metrics", "")
	if err != nil || code != 200 {
		t.Fatalf("/metrics: %d %v", code, err)
	}
	page, err := os.ReadFile("../../deploy/years.md")
	if err != nil {
		t.Fatal(err)
	}
	served, written := map[string]string{}, map[string]string{}
	help := map[string]string{}
	for lines := bufio.NewScanner(bytes.NewReader(told)); lines.Scan(); {
		if f := strings.SplitN(lines.Text(), " ", 4); len(f) == 4 && strings.HasPrefix(f[2], "wetside_") {
			switch f[1] {
			case "HELP":
				help[f[2]] = f[3]
			case "TYPE":
				served[f[2]] = f[3] + " | " + help[f[2]]
			}
		}
	}
	for _, m := range regexp.MustCompile("(?m)^\\| `(wetside_\\w+)` \\| (.*) \\|$").FindAllStringSubmatch(string(page), -1) {
		written[m[1]] = m[2]
	}
	for name, is := range served {
		if written[name] != is {
			t.Errorf("missing or otherwise in deploy/years.md:\n| `%s` | %s |", name, is)
		}
	}
	for name := range written {
		// a family with labels is told once something was counted
		if _, ok := served[name]; !ok && !strings.HasSuffix(name, "_total") {
			t.Errorf("deploy/years.md has %s, which is not told", name)
		}
	}
	if len(served) < 10 {
		t.Errorf("only %d metrics are told", len(served))
	}
}
