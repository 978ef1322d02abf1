package torture

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wetside/internal/lab"
)

// told keeps what people were told while something was wrong.
type told struct {
	mu   sync.Mutex
	said map[string]bool
	list []string
}

// figures differ from try to try; what is said is the same.
var figures = regexp.MustCompile(`[0-9][0-9.:,TZ-]*`)

func (k *told) note(text string) {
	text = figures.ReplaceAllString(text, "N")
	if len(text) > 160 {
		text = text[:160] + "…"
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if text != "" && !k.said[text] {
		k.said[text] = true
		k.list = append(k.list, text)
	}
}

// take gives what was told since the last time.
func (k *told) take() []string {
	k.mu.Lock()
	defer k.mu.Unlock()
	out := k.list
	k.list, k.said = nil, map[string]bool{}
	return out
}

// watch asks /readyz and the board up to ten times a second until the test
// ends.
func (s *site) watch() {
	quit, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(100 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-quit:
				return
			case <-tick.C:
			}
			switch code, detail := s.readiness(); {
			case code == 0:
				s.told.note("nobody answers")
			case code != http.StatusOK:
				s.told.note("/readyz: " + strings.TrimPrefix(detail, "not ready: "))
			}
			var status lab.DutyStatus
			if s.get("/api/v1/duty/status", &status) == nil {
				for _, f := range status.Faults {
					s.told.note("board: " + f.Text)
				}
			}
		}
	}()
	s.t.Cleanup(func() { close(quit); <-done })
}

// page is one alert's occurrence in a page that arrived.
type page struct {
	Item lab.PageItem
	ID   string // of the message
	At   time.Time

	again bool // the message says that nobody has acknowledged what it told before
	more  bool // it tells of more alerts than it lists
}

// receiver takes webhooks.
type receiver struct {
	url   string
	mu    sync.Mutex
	pages []page
	came  chan struct{}
}

func newReceiver(t testing.TB) *receiver {
	r := &receiver{came: make(chan struct{}, 100_000)}
	s := httptest.NewServer(r)
	t.Cleanup(s.Close)
	r.url = s.URL
	return r
}

func (r *receiver) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	var body struct {
		Data lab.PageBody
	}
	b, err := io.ReadAll(req.Body)
	if err != nil || json.Unmarshal(b, &body) != nil {
		http.Error(w, "not a page", http.StatusBadRequest)
		return
	}
	r.mu.Lock()
	for _, it := range body.Data.Items {
		r.pages = append(r.pages, page{Item: it, ID: req.Header.Get("webhook-id"), At: time.Now(), again: body.Data.Again, more: body.Data.More > 0})
	}
	r.mu.Unlock()
	select {
	case r.came <- struct{}{}:
	default:
	}
}

func (r *receiver) all() []page {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.pages)
}
