package main

import (
	"fmt"
	"net/http"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
	"wetside/web/access"
)

// A second wetside on the same database stands by and says so, and shows the
// pages of the first: with the same tokens and sign-ins, and from its own
// address. When the first is killed it takes over; when it is stopped in order
// the other has the lab again, and nobody is called about that. (A holder that
// is stopped or cut off: internal/torture, TestTakeOver.)
func TestStandByTakesOver(t *testing.T) {
	t.Parallel()
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	listen := [2]string{fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t)), fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t))}
	serve := func(i int) *monitortest.Process {
		return monitortest.StartProcess(t, exec.Command(binary(t), "serve", "--broker", broker, "--database", database, "--listen", listen[i], "--data", t.TempDir()))
	}
	var ps [2]*monitortest.Process
	ps[0] = serve(0)
	monitortest.Ready(t, "http://"+listen[0])
	ps[1] = serve(1)
	standsBy := func(i int) {
		t.Helper()
		labtest.Poll(t, "the other stands by", func() bool {
			status, why := monitortest.Readiness(t, "http://"+listen[i])
			return status == 503 && strings.Contains(why, "standing by: another wetside holds this lab, since ")
		})
	}
	standsBy(1)
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	if err := access.CreateUser(t.Context(), store, "Wren", "lead", "a password of some length"); err != nil {
		t.Fatal(err)
	}
	a := monitortest.NewAPI(t, "http://"+listen[1], store)
	var units struct{ Units []lab.Unit }
	labtest.Poll(t, "the holder's units by way of the other", func() bool { return a.Get("/api/v1/units", &units) })
	code, session := monitortest.SignIn(t, a.Base, "Wren", "a password of some length")
	if code != 200 || session == "" {
		t.Fatalf("signed in by way of the other: %d, session %q", code, session)
	}
	signedIn := &monitortest.API{T: t, Base: a.Base, Cookie: session, Client: monitortest.Client}
	var me struct{ Name string }
	if !signedIn.Get("/api/v1/session", &me) || me.Name != "Wren" {
		t.Errorf("by way of the other the session is of %q", me.Name)
	}
	if code, b, _ := (&monitortest.API{T: t, Base: a.Base, Token: "wrong", Client: monitortest.Client}).Do("GET", "/api/v1/units", ""); code != 401 {
		t.Errorf("with a wrong token by way of the other: %d %s", code, b)
	}
	for origin, want := range map[string]int{a.Base: 200, "http://elsewhere.example": 403} {
		req, _ := http.NewRequest("PUT", a.Base+"/api/v1/me/preferences", strings.NewReader(`{}`))
		req.Header = http.Header{"Origin": {origin}, "Content-Type": {"application/json"}, "Cookie": {"wetside_session_" + req.URL.Port() + "=" + session}}
		resp, err := monitortest.Client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if (resp.StatusCode == 403) != (want == 403) {
			t.Errorf("a page of %s changes something by way of the other: %d", origin, resp.StatusCode)
		}
	}
	ps[0].Kill(t)
	monitortest.Ready(t, a.Base)
	if !signedIn.Get("/api/v1/session", &me) {
		t.Error("the sign-in did not outlast the holder")
	}
	taken := func() (n int) {
		for _, x := range a.Alerts("&rule=" + lab.FaultTakenOver) {
			n += x.Occurrence
		}
		return n
	}
	labtest.Poll(t, "the take-over is told", func() bool { return taken() == 1 })

	ps[0] = serve(0)
	standsBy(0)
	ps[1].End(t, syscall.SIGTERM)
	monitortest.Ready(t, "http://"+listen[0])
	a.Base = "http://" + listen[0]
	terms, err := store.LeaseTerms(t.Context(), time.Hour)
	if err != nil || len(terms) != 3 || terms[0].How != "free" || terms[1].How != "ended" || terms[2].How != "free" {
		t.Errorf("the lab changed hands by %+v, %v; want free, ended, free", terms, err)
	}
	if n := taken(); n != 1 {
		t.Errorf("told %d times; what somebody did on purpose is no news", n)
	}
}
