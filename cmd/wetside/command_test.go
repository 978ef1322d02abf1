package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
)

// The exit statuses are the contract's: 0 done, 1 failed, 2 wrong usage; an
// error names what was wrong, where, and what would be right.
func TestCommandLine(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	good := file("good.jsonl", `{"received_at":"2026-03-02T09:00:00Z","topic":"wetside/v1/tern-street/plover/status","payload":{"at":"2026-03-02T09:00:00Z","boot":"a","seq":1,"online":true}}`+"\n")
	bad := file("bad.jsonl", `{"received_at":"2026-03-02T09:00:00Z","topic":"x","payload":1}`+"\n"+`{"received_at":"noon"}`+"\n")
	unknown := file("unknown.yaml", "brokr: embedded\n")
	notYAML := file("not.yaml", "listen: [\n")
	nested := file("nested.yaml", "listen: {a: 1}\n")
	for _, c := range []struct {
		name string
		args []string
		code int
		says []string // on stderr
	}{
		{"nothing", nil, exitUsage, []string{"Usage", "demo", "no command"}},
		{"unknown command", []string{"watch"}, exitUsage, []string{"watch", "--help"}},
		{"unknown flag", []string{"replay", "--speed=2", good}, exitUsage, []string{"--speed", "wetside replay --help"}},
		{"replay without captures", []string{"replay"}, exitUsage, []string{"capture"}},
		{"replay of what is not there", []string{"replay", filepath.Join(dir, "none")}, exitFailed, []string{"none"}},
		{"replay of a folder", []string{"replay", dir}, exitFailed, []string{dir, "folder"}},
		{"replay of a bad line", []string{"replay", good, bad}, exitFailed, []string{"bad.jsonl line 2", "RFC 3339"}},
		{"replay with rules that are not there", []string{"replay", "--rules", filepath.Join(dir, "none"), good}, exitFailed, []string{"--rules", "none"}},
		{"replay with rules that are a file", []string{"replay", "--rules", good, good}, exitFailed, []string{"--rules", "folder"}},
		{"sheets of no process", []string{"sheets", "c4l"}, exitUsage, []string{"c4l", "c41"}},
		{"token role", []string{"token", "create", "--name", "x", "--role", "boss"}, exitUsage, []string{"--role", "viewer", "operator", "lead", "boss"}},
		{"token without a name", []string{"token", "create", "--role", "viewer"}, exitUsage, []string{"--name"}},
		{"token without a database", []string{"token", "create", "--name", "x", "--role", "viewer", "--data", filepath.Join(dir, "none")}, exitFailed, []string{"none", "--data", "--database"}},
		{"export of no unit", []string{"export", "--unit", "plover"}, exitUsage, []string{"--unit", "plover", "lab/unit"}},
		{"export from noon", []string{"export", "--from", "noon"}, exitUsage, []string{"--from", "noon", "RFC 3339"}},
		{"export backwards", []string{"export", "--from", "2026-03-02T09:00:00Z", "--to", "2026-03-01T09:00:00Z"}, exitUsage, []string{"--from", "--to"}},
		{"unit key of no unit", []string{"unit-key", "create", "plover"}, exitUsage, []string{"plover", "lab/unit"}},
		{"user without a password", []string{"user", "create", "--name", "ada", "--role", "lead"}, exitUsage, []string{"password", "stdin"}},
		{"record without a broker", []string{"record"}, exitUsage, []string{"--broker"}},
		{"record from a web page", []string{"record", "--broker", "http://127.0.0.1"}, exitUsage, []string{"http", "mqtt"}},
		{"record from nobody", []string{"record", "--broker", "mqtt://127.0.0.1:1"}, exitFailed, []string{"127.0.0.1:1"}},
		{"simulate no units", []string{"simulate", "--broker", "mqtt://127.0.0.1:1", "--units", "0"}, exitUsage, []string{"--units", "1 to"}},
		{"simulate to a web page", []string{"simulate", "--broker", "http://127.0.0.1"}, exitUsage, []string{"http", "mqtt"}},
		{"demo for all the world", []string{"demo", "--listen", "0.0.0.0:8080"}, exitUsage, []string{"--listen", "127.0.0.1"}},
		{"serve on nonsense", []string{"serve", "--listen", "nonsense", "--data", dir}, exitUsage, []string{"nonsense", "host:port"}},
		{"serve mqtt on nonsense", []string{"serve", "--mqtt-listen", "nonsense", "--data", dir}, exitUsage, []string{"nonsense", "host:port"}},
		{"serve with a broker of another kind", []string{"serve", "--broker", "http://127.0.0.1", "--data", dir}, exitUsage, []string{"http", "mqtt"}},
		{"serve with a database of another kind", []string{"serve", "--database", "mysql://x", "--broker", "mqtt://127.0.0.1:1"}, exitUsage, []string{"postgres://"}},
		{"serve with an unknown setting", []string{"serve", "--config", unknown}, exitUsage, []string{"unknown.yaml", "brokr", "broker"}},
		{"serve with settings that are none", []string{"serve", "--config", notYAML}, exitUsage, []string{"not.yaml"}},
		{"serve with a group of settings", []string{"serve", "--config", nested}, exitUsage, []string{"nested.yaml", "listen"}},
		{"serve with settings that are not there", []string{"serve", "--config", filepath.Join(dir, "none.yaml")}, exitUsage, []string{"none.yaml"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errOut := run1(t, "", c.args...)
			if code != c.code {
				t.Errorf("exit status %d; want %d\n%s", code, c.code, errOut)
			}
			for _, s := range c.says {
				if !strings.Contains(errOut, s) {
					t.Errorf("stderr does not say %q:\n%s", s, errOut)
				}
			}
			if out != "" {
				t.Errorf("stdout has %q; want nothing after a failure", out)
			}
		})
	}
}

func TestHelp(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		command string
		says    []string
	}{
		{"", []string{"demo", "serve", "replay", "record", "export", "import", "simulate", "token", "It advises"}},
		{"demo", []string{"--listen", "--data", "three minutes"}},
		{"serve", []string{"--broker", "--database", "--listen", "--data", "--mqtt-listen", "127.0.0.1:1883", "--config", "WETSIDE_BROKER", "WETSIDE_MQTT_LISTEN"}},
		{"replay", []string{"--rules", "<capture>", "received_at"}},
		{"record", []string{"--broker", "stdout"}},
		{"export", []string{"--unit", "--from", "--to", "--database", "--data"}},
		{"import", []string{"<capture>", "--database", "--data", "Nobody is paged"}},
		{"simulate", []string{"--broker", "--units", "--seed"}},
		{"token create", []string{"--name", "--role", "--database", "--data"}},
		{"user create", []string{"--name", "--role", "password"}},
		{"unit-key create", []string{"lab/unit", "--data"}},
		{"version", []string{"Usage"}},
	} {
		t.Run(c.command, func(t *testing.T) {
			code, out, _ := run1(t, "", append(strings.Fields(c.command), "--help")...)
			if code != exitDone {
				t.Errorf("exit status %d; want 0", code)
			}
			for _, s := range c.says {
				if !strings.Contains(out, s) {
					t.Errorf("the help does not say %q:\n%s", s, out)
				}
			}
		})
	}
}

func TestVersion(t *testing.T) {
	t.Parallel()
	if code, out, _ := run1(t, "", "version"); code != exitDone || !strings.HasPrefix(out, "wetside ") {
		t.Errorf("status %d, %q", code, out)
	}
}

// The settings that are installed with the program must be ones it takes:
// what serve then complains of is the address given here, not the file.
func TestExampleSettings(t *testing.T) {
	t.Parallel()
	const example = "../../deploy/wetside.yaml"
	code, _, errOut := run1(t, "", "serve", "--config", example, "--listen", "nowhere", "--data", t.TempDir())
	if code != exitUsage || !strings.Contains(errOut, `"nowhere"`) {
		t.Errorf("status %d, %s", code, errOut)
	}
	// Each line that is commented out is a setting too.
	text, err := os.ReadFile(example)
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "# "); ok && !strings.Contains(rest, "/wetside.yaml") {
			if name, _, ok := strings.Cut(rest, ":"); ok && !strings.Contains(name, " ") || strings.HasPrefix(rest, "  - ") {
				line = rest
			}
		}
		all.WriteString(line)
	}
	whole := filepath.Join(t.TempDir(), "whole.yaml")
	seen := strings.ReplaceAll(all.String(), "broker: embedded\ndatabase: embedded\n", "")
	if err := os.WriteFile(whole, []byte(seen), 0o600); err != nil {
		t.Fatal(err)
	}
	code, _, errOut = run1(t, "", "serve", "--config", whole, "--listen", "nowhere", "--rules", "", "--data", t.TempDir())
	if code != exitUsage || !strings.Contains(errOut, `"nowhere"`) {
		t.Errorf("with every setting: status %d, %s\n%s", code, errOut, seen)
	}
}

// What a file says gives way to the environment, and that to the command line.
func TestSettingsPrecedence(t *testing.T) {
	file := filepath.Join(t.TempDir(), "s.yaml")
	if err := os.WriteFile(file, []byte("listen: from-file\nmqtt-listen: from-file\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	data := t.TempDir()
	says := func(want string, args ...string) {
		t.Helper()
		code, _, errOut := run1(t, "", append([]string{"serve", "--data", data}, args...)...)
		if code != exitUsage || !strings.Contains(errOut, `"`+want+`"`) {
			t.Errorf("status %d; want a complaint of %q: %s", code, want, errOut)
		}
	}
	says("from-file", "--config", file)
	t.Setenv("WETSIDE_LISTEN", "from-environment")
	says("from-environment", "--config", file)
	says("from-line", "--config", file, "--listen", "from-line")
	t.Setenv("WETSIDE_CONFIG", file)
	t.Setenv("WETSIDE_LISTEN", "127.0.0.1:0")
	says("from-file") // the other address
}

// replay prints what the rules find, each line on its own.
func TestReplayPrintsJSONLines(t *testing.T) {
	t.Parallel()
	lines := replayed(t, monitortest.WriteCapture(t, "one.jsonl", monitortest.FaultyDay(t)))
	var raised lab.Time
	runs := false
	for _, l := range lines {
		switch {
		case l.Alert != nil && runs:
			t.Fatal("an alert after a run; want alerts first")
		case l.Alert != nil:
			if l.Alert.RaisedAt.Before(raised.Time) {
				t.Errorf("%s raised at %s after one raised at %s", l.Alert.Rule, l.Alert.RaisedAt, raised)
			}
			raised = l.Alert.RaisedAt
			if l.Alert.ID == "" || l.Alert.Message == "" || l.Alert.Response == "" || l.Alert.Occurrence < 1 || l.Alert.Facts == nil {
				t.Errorf("an alert that lacks something: %+v", l.Alert)
			}
		case l.Run != nil:
			runs = true
		default:
			t.Fatal("a line that is neither alert nor run")
		}
	}
	if raised.IsZero() || !runs {
		t.Fatalf("%d lines without alerts or runs", len(lines))
	}
}

type replayLine struct {
	Alert *lab.Alert
	Run   *lab.Run
}

func replayed(t *testing.T, args ...string) []replayLine {
	t.Helper()
	code, out, errOut := run1(t, "", append([]string{"replay"}, args...)...)
	if code != exitDone {
		t.Fatalf("replay: status %d: %s", code, errOut)
	}
	var lines []replayLine
	for line := range strings.Lines(out) {
		var l replayLine
		if err := json.Unmarshal([]byte(line), &l); err != nil {
			t.Fatalf("not a JSON line: %v: %s", err, line)
		}
		lines = append(lines, l)
	}
	return lines
}
