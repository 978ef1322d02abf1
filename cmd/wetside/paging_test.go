package main

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"wetside/internal/certificate"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
)

// The command line tests each way through the running wetside.
func TestPageTestCommand(t *testing.T) {
	t.Parallel()
	p, _, _, got, _ := monitortest.PagingLab(t, nil)
	code, out, errOut := run1(t, "", "page-test", "Wren", "--database", p.DatabaseURL())
	if code != exitDone || !strings.Contains(out, "webhook  sent") {
		t.Errorf("%d %s %s", code, out, errOut)
	}
	if page := labtest.Receive(t, got, "the test"); page.Kind != "page.test" {
		t.Errorf("%+v", page)
	}
	if code, _, errOut = run1(t, "", "page-test", "Nobody", "--database", p.DatabaseURL()); code == exitDone || !strings.Contains(errOut, `nobody called "Nobody"`) {
		t.Errorf("%d %s", code, errOut)
	}
}

// HTTPS by a certificate of the lab's own makes push available.
func TestHTTPS(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if code, _, errOut := run1(t, "", "certificate", "--host", "127.0.0.1", "--out", dir); code != exitDone {
		t.Fatal(errOut)
	}
	beats := make(chan monitortest.Arrived, 100)
	watcher := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case beats <- monitortest.Arrived{At: time.Now()}:
		default:
		}
	}))
	defer watcher.Close()
	p, _, a, _, _ := monitortest.PagingLabBy(t, clientTrusting(t, dir), func(c *monitor.Config) {
		c.TLSCert, c.TLSKey = dir+"/"+certificate.CertFile, dir+"/"+certificate.KeyFile
		c.Paging = monitor.Paging{Heartbeat: watcher.URL, HeartbeatEvery: time.Second}
	})
	if !strings.HasPrefix(p.URL(), "https://") {
		t.Errorf("the board is at %s", p.URL())
	}
	var key struct {
		Available bool
		Key       string
	}
	if !a.Get("/api/v1/push/key", &key) || !key.Available || len(key.Key) != 87 { // 65 bytes in base64url
		t.Errorf("push: %+v", key)
	}
	labtest.Receive(t, beats, "a heartbeat")
}
