package web

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/klauspost/compress/zstd"
)

func TestNoticeWithoutBuiltPages(t *testing.T) {
	notice := fstest.MapFS{"notice.html": {Data: mustRead(t, "dist/notice.html")}}
	x := newSite(t, newShop(), func(c *Config) { c.Pages = notice })
	resp, b := x.do("GET", "/", "", "")
	if resp.StatusCode != 200 || !strings.Contains(string(b), "not built") || !strings.HasPrefix(resp.Header.Get("Content-Type"), "text/html") {
		t.Errorf("%d %s", resp.StatusCode, b)
	}
}

func TestPages(t *testing.T) {
	built := fstest.MapFS{
		"index.html":           {Data: []byte("<!doctype html><title>shell</title>")},
		"notice.html":          {Data: []byte("notice")},
		"assets/app-1a2b3c.js": {Data: []byte("let a = 1")},
		"mark.svg":             {Data: []byte("<svg/>")},
	}
	x := newSite(t, newShop(), func(c *Config) { c.Pages = built })
	for _, c := range []struct {
		path   string
		status int
		holds  string
		cache  string
	}{
		{"/", 200, "shell", "no-cache"},
		{"/units/tern-street/plover", 200, "shell", "no-cache"},
		{"/runs", 200, "shell", "no-cache"},
		{"/assets/app-1a2b3c.js", 200, "let a", "public, max-age=31536000, immutable"},
		{"/mark.svg", 200, "svg", "no-cache"},
		{"/assets/old-hash.js", 404, "", "no-store"},
		{"/assets/", 404, "", "no-store"},
		{"/missing.png", 404, "", "no-store"},
		{"/api/v2/units", 404, "problem", "no-store"},
		{"/api/", 404, "openapi.yaml", "no-store"},
	} {
		resp, b := x.do("GET", c.path, "", "")
		if c.holds == "problem" {
			checkProblem(t, resp, b)
			c.holds = ""
		}
		if resp.StatusCode != c.status || !strings.Contains(string(b), c.holds) || resp.Header.Get("Cache-Control") != c.cache {
			t.Errorf("%s: %d %q %s, want %d %q", c.path, resp.StatusCode, resp.Header.Get("Cache-Control"), b, c.status, c.cache)
		}
	}
	if resp, b := x.do("POST", "/", "", ""); resp.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("POST /: %d %s", resp.StatusCode, b)
	}
}

// A browser that takes gzip is sent less; one that does not is sent the same
// file; the API is never compressed.
func TestPagesAreCompressed(t *testing.T) {
	script := strings.Repeat("const bath = 37.8;\n", 200)
	x := newSite(t, newShop(), func(c *Config) {
		c.Pages = fstest.MapFS{
			"index.html":           {Data: []byte("<!doctype html><title>shell</title>" + strings.Repeat("<p>tank</p>", 200))},
			"assets/app-1a2b3c.js": {Data: []byte(script)},
			"mark.svg":             {Data: []byte("<svg/>")},
		}
	})
	get := func(path, takes string) (*http.Response, []byte) {
		return x.do("GET", path, "", "", func(r *http.Request) { r.Header.Set("Accept-Encoding", takes) })
	}
	for takes, packed := range map[string]bool{"gzip, deflate, br": true, "gzip;q=0": false, "identity": false, "": false, "gzip;q=x": false} {
		resp, b := get("/assets/app-1a2b3c.js", takes)
		if got := resp.Header.Get("Content-Encoding") == "gzip"; got != packed || resp.Header.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: compressed %v, vary %q", takes, got, resp.Header.Get("Vary"))
			continue
		}
		if packed {
			if len(b) > len(script)/10 || resp.ContentLength != int64(len(b)) {
				t.Errorf("%q: %d bytes of %d", takes, len(b), len(script))
			}
			z, err := gzip.NewReader(bytes.NewReader(b))
			if err != nil {
				t.Fatal(err)
			}
			if b, err = io.ReadAll(z); err != nil {
				t.Fatal(err)
			}
		}
		if string(b) != script || !strings.HasPrefix(resp.Header.Get("Content-Type"), "text/javascript") {
			t.Errorf("%q: %s, %d bytes", takes, resp.Header.Get("Content-Type"), len(b))
		}
	}
	// A browser that takes Zstandard is sent less still.
	for takes, want := range map[string]string{"gzip, deflate, br, zstd": "zstd", "zstd;q=0, gzip": "gzip", "zstd;q=0.5": "zstd", "br": ""} {
		resp, b := get("/assets/app-1a2b3c.js", takes)
		if got := resp.Header.Get("Content-Encoding"); got != want || resp.Header.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: %q, vary %q; want %q", takes, got, resp.Header.Get("Vary"), want)
		}
		if want != "zstd" {
			continue
		}
		z, err := zstd.NewReader(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		plain, err := io.ReadAll(z)
		z.Close()
		if err != nil || string(plain) != script {
			t.Errorf("%q: %d bytes, %v; want the script", takes, len(plain), err)
		}
	}
	for path, packed := range map[string]bool{"/": true, "/runs": true, "/mark.svg": false, "/api/v1/session": false, "/readyz": false} {
		resp, _ := get(path, "gzip")
		if got := resp.Header.Get("Content-Encoding") == "gzip"; got != packed {
			t.Errorf("%s: compressed %v; want %v", path, got, packed)
		}
	}
}
