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
	"wetside/internal/monitor/monitortest"
	"wetside/internal/simulation/demo"
)

// startDemo runs the demonstration as a person would, and gives the board's
// address and the password that it prints.
func startDemo(t *testing.T, args ...string) (p *monitortest.Process, out *monitortest.Output, url, password string) {
	t.Helper()
	out = &monitortest.Output{}
	cmd := exec.Command(binary(t), append([]string{"demo", "--listen", "127.0.0.1:0"}, args...)...)
	cmd.Env = append(os.Environ(), "TMPDIR="+t.TempDir())
	monitortest.PassThrough(t, filepath.Join(cmd.Env[len(cmd.Env)-1][len("TMPDIR="):], "x"))
	cmd.Stdout = out
	p = monitortest.StartProcess(t, cmd)
	shown := regexp.MustCompile(`The board:\s+(\S+)\s+Sign in:\s+demo\s+Password:\s+(\S+)`)
	labtest.Poll(t, "the demonstration prints where it is", func() bool {
		m := shown.FindStringSubmatch(out.Tail(10_000))
		if m != nil {
			url, password = m[1], m[2]
		}
		return m != nil || monitortest.Ended(p)
	})
	if url == "" {
		t.Fatalf("no address was printed: %s", out.Tail(2000))
	}
	return p, out, url, password
}

// From start to a live board, then a day of history; ended by an interrupt,
// it leaves nothing. How long each took is logged, not judged: a machine that
// does other work too is no fault of the program (on 2 cores and else idle:
// under 20 s and under a minute).
func TestDemo(t *testing.T) {
	t.Parallel()
	binary(t) // not part of what is logged
	began := time.Now()
	p, out, url, password := startDemo(t)
	a := &monitortest.API{T: t, Base: url}
	session, err := monitortest.Client.Post(url+"/api/v1/session", "application/json", bytes.NewBufferString(`{"name":"demo","password":"`+password+`"}`))
	if err != nil || len(session.Cookies()) == 0 {
		t.Fatalf("sign-in with what was printed: %v, %v", session.Status, err)
	}
	session.Body.Close()
	a.Cookie = session.Cookies()[0].Value
	labtest.Poll(t, "six units run on the board", func() bool {
		var units struct{ Units []lab.Unit }
		running := 0
		if a.Get("/api/v1/units", &units) {
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
	for !day.MatchString(out.Tail(10_000)) {
		select {
		case <-ctx.Done():
			t.Fatalf("no day of history within four minutes: %s", out.Tail(2000))
		case <-tick.C:
		}
	}
	t.Logf("a day of history was in after %v", time.Since(began))
	var read struct {
		Strips []struct{ Standing, Code string }
	}
	if !a.Get("/api/v1/strips?process=c41", &read) || len(read.Strips) == 0 || read.Strips[0].Code != demo.StripCode {
		t.Errorf("the day's control strips are not in: %+v", read)
	}
	p.End(t, syscall.SIGINT)
	if code := p.Cmd.ProcessState.ExitCode(); code != exitDone {
		t.Errorf("after an interrupt the exit status is %d; want 0", code)
	}
	left, err := filepath.Glob(filepath.Join(p.Cmd.Env[len(p.Cmd.Env)-1][len("TMPDIR="):], "wetside-demo-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("the demonstration leaves %v (%v)", left, err)
	}
}
