package listener_test

import (
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"wetside/internal/labtest"
	"wetside/internal/monitor/listener"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func open(t *testing.T) *listener.Listener {
	t.Helper()
	l, err := listener.New("127.0.0.1:0", nil, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(l.Close)
	return l
}

// ask gets a path and gives status, kind of the answer and what it says.
func ask(t *testing.T, l *listener.Listener, path string) (*http.Response, string) {
	t.Helper()
	client := http.Client{Timeout: labtest.Patience, Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Get("http://" + l.Addr() + path)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp, string(b)
}

// Until there is a site, and whenever it is taken away, every path but
// /healthz is 503 with the reason; a path of the API gives it as problem
// details (RFC 9457), with Retry-After (RFC 9110, section 10.2.3).
func TestSaysWhyThereIsNothing(t *testing.T) {
	l := open(t)
	if resp, text := ask(t, l, "/"); resp.StatusCode != 503 || !strings.Contains(text, "wetside is starting") || resp.Header.Get("Retry-After") == "" {
		t.Errorf("at first: %d %s", resp.StatusCode, text)
	}
	if resp, text := ask(t, l, "/healthz"); resp.StatusCode != 200 || text != "ok\n" {
		t.Errorf("healthz: %d %s", resp.StatusCode, text)
	}
	l.Show(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "the board") }), nil)
	if resp, text := ask(t, l, "/api/v1/units"); resp.StatusCode != 200 || text != "the board" {
		t.Errorf("with a site: %d %s", resp.StatusCode, text)
	}
	since := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	l.Away("database-away", since, "the database does not answer")
	resp, text := ask(t, l, "/api/v1/units")
	var problem struct {
		Status              int
		Code, Since, Detail string
	}
	if err := json.Unmarshal([]byte(text), &problem); err != nil || resp.Header.Get("Content-Type") != "application/problem+json" {
		t.Fatalf("%s: %s, %v", resp.Header.Get("Content-Type"), text, err)
	}
	if problem.Status != 503 || problem.Code != "database-away" || !strings.HasPrefix(problem.Since, "2026-03-02T09:00:00") || problem.Detail != "the database does not answer" {
		t.Errorf("away: %+v", problem)
	}
	l.Waiting("standing by")
	if _, text := ask(t, l, "/api/v1/units"); strings.Contains(text, "code") || !strings.Contains(text, "standing by") {
		t.Errorf("waiting: %s", text)
	}
}

// Close lets Done be closed with no error; a taken address is refused at once.
func TestEnds(t *testing.T) {
	l := open(t)
	if _, err := listener.New(l.Addr(), nil, slog.New(slog.DiscardHandler)); err == nil {
		t.Error("two listen on one address")
	}
	l.Close()
	labtest.Closed(t, l.Done(), "the end of the listener")
	if err := l.Err(); err != nil {
		t.Errorf("closed in order it ended with %v", err)
	}
	if c, err := net.Dial("tcp", l.Addr()); err == nil {
		c.Close()
		t.Error("somebody still listens")
	}
}
