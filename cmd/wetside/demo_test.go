package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"syscall"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// demo runs the demonstration as a person would, and gives the board's
// address and the password that it prints.
func demo(t *testing.T, args ...string) (p *process, out *lockedBuffer, url, password string) {
	t.Helper()
	out = &lockedBuffer{}
	cmd := exec.Command(binary(t), append([]string{"demo", "--listen", "127.0.0.1:0"}, args...)...)
	cmd.Env = append(os.Environ(), "TMPDIR="+t.TempDir())
	passThrough(t, filepath.Join(cmd.Env[len(cmd.Env)-1][len("TMPDIR="):], "x"))
	cmd.Stdout = out
	p = startProcess(t, cmd)
	shown := regexp.MustCompile(`The board:\s+(\S+)\s+Sign in:\s+demo\s+Password:\s+(\S+)`)
	labtest.Poll(t, "the demonstration prints where it is", func() bool {
		m := shown.FindStringSubmatch(out.tail(10_000))
		if m != nil {
			url, password = m[1], m[2]
		}
		return m != nil || ended(p)
	})
	if url == "" {
		t.Fatalf("no address was printed: %s", out.tail(2000))
	}
	return p, out, url, password
}

// From start to a live board, then a day of history; ended by an interrupt,
// it leaves nothing. How long each took is logged, not judged: a machine that
// does other work too is no fault of the program (on 2 cores and else idle:
// under 20 s and under a minute).
func TestDemo(t *testing.T) {
	binary(t) // not part of what is logged
	began := time.Now()
	p, out, url, password := demo(t)
	a := &api{t: t, base: url}
	session, err := client.Post(url+"/api/v1/session", "application/json", bytes.NewBufferString(`{"name":"demo","password":"`+password+`"}`))
	if err != nil || len(session.Cookies()) == 0 {
		t.Fatalf("sign-in with what was printed: %v, %v", session.Status, err)
	}
	session.Body.Close()
	a.cookie = session.Cookies()[0].Value
	labtest.Poll(t, "six units run on the board", func() bool {
		var units struct{ Units []lab.Unit }
		running := 0
		if a.get("/api/v1/units", &units) {
			for _, u := range units.Units {
				if u.Run != nil && u.Standing == "accepted" {
					running++
				}
			}
		}
		return running >= 5 // one begins its run later
	})
	t.Logf("the board was live after %v", time.Since(began))

	ctx, cancel := context.WithDeadline(t.Context(), began.Add(4*time.Minute))
	defer cancel()
	tick := time.NewTicker(100 * time.Millisecond)
	defer tick.Stop()
	day := regexp.MustCompile(`Past runs: .*, [1-9]\d* runs`)
	for !day.MatchString(out.tail(10_000)) {
		select {
		case <-ctx.Done():
			t.Fatalf("no day of history within four minutes: %s", out.tail(2000))
		case <-tick.C:
		}
	}
	t.Logf("a day of history was in after %v", time.Since(began))
	var read struct {
		Strips []struct{ Standing, Code string }
	}
	if !a.get("/api/v1/strips?process=c41", &read) || len(read.Strips) == 0 || read.Strips[0].Code != demoCode {
		t.Errorf("the day's control strips are not in: %+v", read)
	}
	p.end(t, syscall.SIGINT)
	if code := p.cmd.ProcessState.ExitCode(); code != exitDone {
		t.Errorf("after an interrupt the exit status is %d; want 0", code)
	}
	left, err := filepath.Glob(filepath.Join(p.cmd.Env[len(p.cmd.Env)-1][len("TMPDIR="):], "wetside-demo-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("the demonstration leaves %v (%v)", left, err)
	}
}
