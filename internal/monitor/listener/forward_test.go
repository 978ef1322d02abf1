package listener_test

import (
	"crypto/tls"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"wetside/internal/labtest"
	"wetside/internal/monitor/listener"
)

// seen is what a site knows of a request: from where, by HTTPS or not, for
// which host, and what a proxy said.
func seen() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		fmt.Fprintf(w, "%s secure=%v %s for=%s mark=%q", r.RemoteAddr, r.TLS != nil, r.Host, r.Header.Get("X-Forwarded-For"), r.Header.Get("Wetside-Forwarded"))
	})
}

var key, otherKey = []byte("the key that both have"), []byte("another lab's key")

// Who stands by shows what the holder shows, and the holder takes the request
// as if the client had come to it; what a proxy before the two said is passed
// on. Whether it is ready it says itself.
func TestForwards(t *testing.T) {
	holder, standby := open(t), open(t)
	holder.Show(seen(), key)
	standby.Forward(listener.Holder{Address: "http://" + holder.Addr(), Key: key}, "standing by")
	client := http.Client{Timeout: labtest.Patience, Transport: &http.Transport{DisableKeepAlives: true}}
	req, _ := http.NewRequest("GET", "http://"+standby.Addr()+"/api/v1/units?x=1", nil)
	req.Header.Set("X-Forwarded-For", "198.51.100.7")
	resp, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	if text := string(b); resp.StatusCode != 200 || !strings.HasPrefix(text, "127.0.0.1:") || !strings.Contains(text, "secure=false "+standby.Addr()+" for=198.51.100.7 mark=\"\"") {
		t.Errorf("%d %s", resp.StatusCode, text)
	}
	for path, status := range map[string]int{"/readyz": 503, "/metrics": 503, "/healthz": 200} {
		if resp, text := ask(t, standby, path); resp.StatusCode != status || strings.Contains(text, "secure=") {
			t.Errorf("%s of who stands by: %d %s", path, resp.StatusCode, text)
		}
	}
}

// A client says that it is somebody else's forwarder: it is believed nothing.
func TestForgedMarks(t *testing.T) {
	holder, standby := open(t), open(t)
	holder.Show(seen(), key)
	send := func(to *listener.Listener, mark string) string {
		t.Helper()
		req, _ := http.NewRequest("GET", "http://"+to.Addr()+"/", nil)
		req.Header.Set("Wetside-Forwarded", mark)
		client := http.Client{Timeout: labtest.Patience, Transport: &http.Transport{DisableKeepAlives: true}}
		resp, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		b, _ := io.ReadAll(resp.Body)
		return string(b)
	}
	for _, mark := range []string{"unsigned", "203.0.113.9:1 https 1796000000 AAAA", "203.0.113.9:1 https", "203.0.113.9:1 https x AAAA"} {
		if text := send(holder, mark); !strings.HasPrefix(text, "127.0.0.1:") || !strings.Contains(text, "secure=false") {
			t.Errorf("mark %q: %s", mark, text)
		}
	}
	// signed by who has not the key: the request is taken as that machine's own
	standby.Forward(listener.Holder{Address: "http://" + holder.Addr(), Key: otherKey}, "standing by")
	if _, text := ask(t, standby, "/"); !strings.Contains(text, `mark=""`) {
		t.Errorf("another lab's mark: %s", text)
	}
	// two that stand by and forward to each other send nobody round in circles
	holder.Forward(listener.Holder{Address: "http://" + standby.Addr(), Key: key}, "standing by too")
	if resp, text := ask(t, standby, "/"); resp.StatusCode != 503 || !strings.Contains(text, "stands by as well") {
		t.Errorf("in a circle: %d %s", resp.StatusCode, text)
	}
}

// Over TLS the holder's certificate is the one that it named, or nothing is
// sent; a client that spoke HTTPS to the one counts as one that does to the other.
func TestForwardsOverTLS(t *testing.T) {
	server := httptest.NewUnstartedServer(nil) // for a certificate that is its own
	server.StartTLS()
	pair := server.TLS.Certificates[0]
	server.Close()
	secure := func() *listener.Listener {
		l, err := listener.New("127.0.0.1:0", &tls.Config{Certificates: []tls.Certificate{pair}}, slog.New(slog.DiscardHandler))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(l.Close)
		return l
	}
	holder, standby := secure(), secure()
	holder.Show(seen(), key)
	get := func() string {
		t.Helper()
		client := http.Client{Timeout: labtest.Patience, Transport: &http.Transport{DisableKeepAlives: true, TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}}
		resp, err := client.Get("https://" + standby.Addr() + "/")
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		b, _ := io.ReadAll(resp.Body)
		return string(b)
	}
	named := listener.Fingerprint(pair.Certificate[0])
	standby.Forward(listener.Holder{Address: "https://" + holder.Addr(), Certificate: named, Key: key}, "standing by")
	if text := get(); !strings.Contains(text, "secure=true") {
		t.Error(text)
	}
	if code := listener.Ready(t.Context(), listener.Holder{Address: "https://" + holder.Addr(), Certificate: named}); code != 200 {
		t.Errorf("asked whether it is ready: %d", code)
	}
	standby.Forward(listener.Holder{Address: "https://" + holder.Addr(), Certificate: strings.Repeat("0", 64), Key: key}, "standing by")
	if text := get(); !strings.Contains(text, "another certificate than the one it named") {
		t.Error(text)
	}
}

// A holder that cannot be reached, and one that is taken over while somebody
// waits for its answer.
func TestForwardsToNobody(t *testing.T) {
	standby := open(t)
	standby.Forward(listener.Holder{Address: "http://127.0.0.1:1"}, "standing by: another wetside holds this lab")
	resp, text := ask(t, standby, "/")
	if resp.StatusCode != 503 || resp.Header.Get("Refresh") == "" || !strings.Contains(text, "standing by: another wetside holds this lab. Its pages cannot be reached from here at http://127.0.0.1:1") {
		t.Errorf("%d %s", resp.StatusCode, text)
	}
	came, quit := make(chan struct{}), make(chan struct{})
	hung := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { close(came); <-quit }))
	defer hung.Close()
	defer close(quit)
	standby.Forward(listener.Holder{Address: hung.URL}, "standing by")
	got := make(chan string, 1)
	go func() { _, text := ask(t, standby, "/"); got <- text }()
	labtest.Closed(t, came, "the holder to be asked")
	standby.Show(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "the board") }), key)
	if text := labtest.Receive(t, got, "an answer"); text != "the board" {
		t.Error(text)
	}
}
