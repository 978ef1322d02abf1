package main

import (
	"bytes"
	"io"
	"net/http"
	"net/http/cookiejar"
	"strings"
	"testing"
	"time"

	"wetside/ingest/broker"
	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// The first password is set by a command, with the password on stdin; what
// the commands for tokens and keys print is good, and is kept only as a hash.
func TestPeopleTokensAndKeys(t *testing.T) {
	t.Parallel()
	_, mqtt := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	p := monitortest.Start(t, monitor.Config{Broker: mqtt, Database: database})
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	on := func(args ...string) []string { return append(args, "--database", database) }
	signIn := func(password string) int {
		t.Helper()
		resp, err := monitortest.Client.Post(p.URL()+"/api/v1/session", "application/json",
			bytes.NewBufferString(`{"name":"ada","password":"`+password+`"}`))
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		return resp.StatusCode
	}
	for _, c := range []struct {
		name, stdin string
		args        []string
		code        int
		says        string
	}{
		{"too short", "abc\n", on("user", "create", "--name", "ada", "--role", "lead"), exitUsage, "8 to 256"},
		{"bad name", "long enough\n", on("user", "create", "--name", " ", "--role", "lead"), exitUsage, "name"},
		{"good", "long enough\r\n", on("user", "create", "--name", "ada", "--role", "lead"), exitDone, "ada"},
		{"twice", "long enough\n", on("user", "create", "--name", "ada", "--role", "lead"), exitFailed, "already"},
		{"nobody's password", "long enough\n", on("user", "password", "--name", "bob"), exitFailed, "user create"},
	} {
		if code, _, errOut := run1(t, c.stdin, c.args...); code != c.code || !strings.Contains(errOut, c.says) {
			t.Errorf("%s: status %d; want %d and %q: %s", c.name, code, c.code, c.says, errOut)
		}
	}
	if code := signIn("long enough"); code != http.StatusOK {
		t.Errorf("sign-in with the password set: %d", code)
	}
	if code, _, errOut := run1(t, "another one\n", on("user", "password", "--name", "ada")...); code != exitDone {
		t.Errorf("user password: status %d: %s", code, errOut)
	}
	if old, fresh := signIn("long enough"), signIn("another one"); old != http.StatusUnauthorized || fresh != http.StatusOK {
		t.Errorf("after a new password: the old gives %d, the new %d; want 401 and 200", old, fresh)
	}

	code, token, errOut := run1(t, "", on("token", "create", "--name", "wall", "--role", "viewer")...)
	if code != exitDone {
		t.Fatalf("token create: status %d: %s", code, errOut)
	}
	a := &monitortest.API{T: t, Base: p.URL(), Token: strings.TrimSpace(token)}
	if status, _, err := a.Do("GET", "/api/v1/units", ""); err != nil || status != http.StatusOK {
		t.Errorf("a viewer's token reads the units: %d, %v; want 200", status, err)
	}
	if status, _, err := a.Do("POST", "/api/v1/alerts/x/acknowledge", "{}"); err != nil || status != http.StatusForbidden {
		t.Errorf("a viewer's token acknowledges: %d, %v; want 403", status, err)
	}

	code, key, errOut := run1(t, "", on("unit-key", "create", "tern-street/plover")...)
	if code != exitDone {
		t.Fatalf("unit-key create: status %d: %s", code, errOut)
	}
	keys, err := store.UnitKeys(t.Context())
	if err != nil || !bytes.Equal(keys[lab.UnitID{Lab: "tern-street", Unit: "plover"}], broker.HashKey(strings.TrimSpace(key))) {
		t.Errorf("the key that was printed is not the one that is kept: %v", err)
	}

	// What was given is taken back, and holds no longer than the next request.
	for _, c := range []struct {
		args []string
		code int
		says string // on either
	}{
		{on("token", "list"), exitDone, "wall"},
		{on("token", "revoke", "--name", "wall"), exitDone, "withdrawn"},
		{on("token", "revoke", "--name", "wall"), exitFailed, "no token"},
		{on("token", "create", "--name", "w2", "--role", "viewer", "--ttl", "never"), exitUsage, "30d"},
		{on("unit-key", "list"), exitDone, "tern-street/plover"},
		{on("unit-key", "withdraw", "tern-street/plover"), exitDone, "withdrawn"},
		{on("unit-key", "withdraw", "tern-street/plover"), exitFailed, "no key"},
		{on("user", "role", "--name", "ada", "--role", "viewer"), exitFailed, "last lead"},
		{on("user", "remove", "--name", "ada"), exitFailed, "last lead"},
		{on("user", "links", "--name", "ada"), exitDone, "withdrawn"},
		{on("user", "list"), exitDone, "ada"},
	} {
		if code, out, errOut := run1(t, "", c.args...); code != c.code || !strings.Contains(out+errOut, c.says) {
			t.Errorf("%v: status %d; want %d and %q: %s%s", c.args[:2], code, c.code, c.says, out, errOut)
		}
	}
	if status, _, err := a.Do("GET", "/api/v1/units", ""); err != nil || status != http.StatusUnauthorized {
		t.Errorf("a withdrawn token reads the units: %d, %v; want 401", status, err)
	}
	if code, _, errOut := run1(t, "fixer on tuesday\n", on("user", "create", "--name", "bea", "--role", "lead")...); code != exitDone {
		t.Fatalf("another lead: %d %s", code, errOut)
	}
	if code, _, errOut := run1(t, "", on("user", "remove", "--name", "ada")...); code != exitDone {
		t.Errorf("user remove: %d %s", code, errOut)
	}
	if code := signIn("another one"); code != http.StatusUnauthorized {
		t.Errorf("a removed person signs in: %d, want 401", code)
	}
}

// Two wetsides on one host, at different ports, share no cookie: a browser
// that signs in at one stays signed in at the other (cookies go to every port
// of a host: RFC 6265, section 8.5).
func TestTwoOnOneHost(t *testing.T) {
	t.Parallel()
	_, mqtt := monitortest.Mosquitto(t)
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	browser := &http.Client{Timeout: time.Minute, Jar: jar, Transport: &http.Transport{DisableKeepAlives: true}}
	var at []string
	names := map[string]string{} // of cookies: where they are from
	for i, name := range []string{"ada", "bob"} {
		database := pgtest.New(t)
		p := monitortest.Start(t, monitor.Config{Broker: mqtt, Database: database})
		monitortest.Ready(t, p.URL())
		if code, _, errOut := run1(t, "long enough\n", "user", "create", "--name", name, "--role", "lead", "--database", database); code != exitDone {
			t.Fatal(errOut)
		}
		resp, err := browser.Post(p.URL()+"/api/v1/session", "application/json", strings.NewReader(`{"name":"`+name+`","password":"long enough"}`))
		if err != nil || resp.StatusCode != http.StatusOK {
			t.Fatalf("%s signs in: %v %v", name, resp, err)
		}
		resp.Body.Close()
		for _, c := range resp.Cookies() {
			if was, taken := names[c.Name]; taken && was != p.URL() {
				t.Errorf("both set the cookie %s", c.Name)
			}
			names[c.Name] = p.URL()
		}
		if at = append(at, p.URL()); len(names) < 2*(i+1) {
			t.Errorf("cookies: %v; want a session and a device of each", names)
		}
	}
	for i, want := range []string{"ada", "bob"} {
		resp, err := browser.Get(at[i] + "/api/v1/session")
		if err != nil {
			t.Fatal(err)
		}
		b, _ := io.ReadAll(resp.Body)
		resp.Body.Close()
		if resp.StatusCode != http.StatusOK || !strings.Contains(string(b), `"`+want+`"`) {
			t.Errorf("at %s: %d %s; want %s", at[i], resp.StatusCode, b, want)
		}
	}
}
