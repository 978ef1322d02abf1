package bench

import (
	"fmt"
	"io"
	"net/http"
	"regexp"
	"testing"
	"time"
)

var named = regexp.MustCompile(`(?:src|href)="(/?assets/[^"]+|[^"]+\.(?:js|css))"`)

// What the first view takes over the network, as a browser is sent it.
func TestFirstView(t *testing.T) {
	inLong(t)
	s := newSite(t, false)
	s.serve(false)
	s.ready()
	shell, _, packed := s.fetch("/")
	parts := named.FindAllStringSubmatch(shell, -1)
	if len(parts) == 0 {
		table.add(row{"first view", "the pages are not built (make ui)", "", "", "under 60 kB", "FirstView"})
		return
	}
	began := time.Now()
	for _, m := range parts {
		path := m[1]
		if path[0] != '/' {
			path = "/" + path
		}
		_, _, n := s.fetch(path)
		packed += n
	}
	table.add(row{"first view, as it is sent", fmt.Sprintf("%.1f kB", float64(packed)/1000), "", "", "under 60 kB", "FirstView"})
	table.add(row{"its parts, one after the other", fmt.Sprintf("%.1f ms", time.Since(began).Seconds()*1000), "", "", "", "FirstView"})
}

// fetch reads a page as a browser does, packed: what it says, its status and
// how many bytes came.
func (s *site) fetch(path string) (text string, status, bytes int) {
	s.t.Helper()
	for _, encoding := range []string{"identity", "gzip, deflate, br, zstd"} {
		req, err := http.NewRequestWithContext(s.t.Context(), http.MethodGet, "http://"+s.listen+path, nil)
		if err != nil {
			s.t.Fatal(err)
		}
		req.Header.Set("Accept-Encoding", encoding)
		resp, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(req)
		if err != nil {
			s.t.Fatal(err)
		}
		b, err := io.ReadAll(resp.Body)
		resp.Body.Close()
		if err != nil || resp.StatusCode != http.StatusOK {
			s.t.Fatalf("%s: %d, %v", path, resp.StatusCode, err)
		}
		if encoding == "identity" {
			text = string(b)
		}
		status, bytes = resp.StatusCode, len(b)
	}
	return text, status, bytes
}
