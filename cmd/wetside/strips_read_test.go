package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"wetside/internal/strips"
)

const fiveSteps = "0.32 0.63 0.72\r\n0.44 0.76 0.98\r\n1.30 1.77 2.03\r\n2.70\r\n2.98\r\n"

func TestStripsReadFromAPipe(t *testing.T) {
	code, out, errOut := run1(t, fiveSteps+fiveSteps, "strips", "read", "--mix", "B12")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if code != exitDone || len(lines) != 2 {
		t.Fatalf("exit %d, stdout\n%sstderr\n%s", code, out, errOut)
	}
	var b struct {
		Process, Mix string
		Densities    map[string]map[string]float64
	}
	if err := json.Unmarshal([]byte(lines[1]), &b); err != nil || b.Process != "c41" || b.Mix != "B12" || b.Densities["dmax"]["b"] != 2.98 || b.Densities["hd"]["g"] != 1.77 {
		t.Errorf("%v, %s", err, lines[1])
	}
	if want := "next: D-min\nnext: LD\nnext: HD\nnext: Yellow\nnext: D-max\nnext: D-min\n"; !strings.HasPrefix(errOut, want) {
		t.Errorf("stderr %q does not begin with %q", errOut, want)
	}
	code, out, errOut = run1(t, "0.32 0.63\r\n\r\n"+fiveSteps, "strips", "read")
	if code != exitFailed || strings.Count(out, "\n") != 1 || !strings.Contains(errOut, "not taken: line 1: D-min must have 3 figures (red, green, blue); got 2") || !strings.Contains(errOut, "-: 1 taken, 1 not taken") {
		t.Errorf("one bad strip and a good one: exit %d, stdout\n%sstderr\n%s", code, out, errOut)
	}
	code, out, _ = run1(t, "", "strips", "read", "--formats")
	for _, f := range strips.Formats() {
		if code != exitDone || !strings.Contains(out, f.Name) || !strings.Contains(out, f.Example) {
			t.Errorf("the list of forms lacks %s:\n%s", f.Name, out)
		}
	}
}

func TestStripsReadRefuses(t *testing.T) {
	for _, test := range []struct {
		name string
		args []string
		code int
		want string
	}{
		{"no such form", []string{"--format", "x"}, exitUsage, "--format x: there is no such form; --formats lists them"},
		{"no such process", []string{"--process", "ra4"}, exitUsage, "--process ra4: no figures are known for it"},
		{"no token", []string{"--server", "http://127.0.0.1:1", "--unit", "a/b"}, exitUsage, "WETSIDE_TOKEN"},
		{"no unit", []string{"--server", "http://127.0.0.1:1", "--token", "x"}, exitUsage, "--unit"},
		{"no address", []string{"--server", "localhost", "--token", "x", "--unit", "a/b"}, exitUsage, "--server must be an address"},
		{"no such file", []string{"/does/not/exist"}, exitFailed, "/does/not/exist: no such file"},
	} {
		code, out, errOut := run1(t, "", append([]string{"strips", "read"}, test.args...)...)
		if code != test.code || out != "" || !strings.Contains(errOut, test.want) {
			t.Errorf("%s: exit %d, stdout %q, stderr %q; want exit %d and %q", test.name, code, out, errOut, test.code, test.want)
		}
	}
}

// What the server refuses is printed all the same: nothing that was read is
// lost.
func TestStripsReadKeepsWhatIsRefused(t *testing.T) {
	var heard []string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body)
		heard = append(heard, fmt.Sprint(r.Method, r.URL.Path, r.Header.Get("Authorization"), r.Header.Get("Idempotency-Key") != "", len(b) > 0))
		w.WriteHeader(http.StatusForbidden)
		fmt.Fprint(w, `{"title":"Forbidden","detail":"this needs the role operator"}`)
	}))
	defer server.Close()
	code, out, errOut := run1(t, fiveSteps, "strips", "read", "--server", server.URL, "--token", "secret", "--unit", "a/b")
	if want := "POST/api/v1/stripsBearer secrettrue true"; len(heard) != 1 || heard[0] != want {
		t.Errorf("sent %q, want %q", heard, want)
	}
	if code != exitFailed || !strings.Contains(out, `"dmax":{"b":2.98}`) || !strings.Contains(errOut, "not sent in: 403 Forbidden: Forbidden this needs the role operator") || strings.Contains(errOut+out, "secret") {
		t.Errorf("exit %d, stdout %q, stderr %q", code, out, errOut)
	}
}

func TestStripsRate(t *testing.T) {
	t.Parallel()
	code, out, errOut := run1(t, "", "strips", "rate", "--strips", "20000")
	if code != exitDone {
		t.Fatalf("exit %d: %s", code, errOut)
	}
	for _, s := range strips.AllSignals {
		if !strings.Contains(out, string(s)) {
			t.Errorf("nothing of %s:\n%s", s, out)
		}
	}
	if !strings.Contains(out, "10 plots") || !strings.Contains(out, "any signal but action-limit") {
		t.Errorf("C-41 has ten plots that the rules are made for:\n%s", out)
	}
	for _, args := range [][]string{{"--process", "ra4"}, {"--plots", "65"}, {"--strips", "1"}, {"--lambda", "2"}} {
		if code, _, errOut := run1(t, "", append([]string{"strips", "rate"}, args...)...); code != exitUsage || !strings.Contains(errOut, args[0]) {
			t.Errorf("%q: exit %d, %s", args, code, errOut)
		}
	}
}

func TestAnyLines(t *testing.T) {
	var got []string
	split := anyLines()
	data := []byte("a\rb\nc\r\n\r\nd")
	for len(data) > 0 {
		n, token, err := split(data, true)
		if err != nil || n == 0 {
			t.Fatal(n, err)
		}
		if token != nil {
			got = append(got, string(bytes.Clone(token)))
		}
		data = data[n:]
	}
	if strings.Join(got, "|") != "a|b|c||d" {
		t.Errorf("%q", got)
	}
}
