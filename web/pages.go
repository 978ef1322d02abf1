package web

import (
	"embed"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"github.com/klauspost/compress/gzhttp"
	"github.com/klauspost/compress/gzip"

	"wetside/web/problem"
)

//go:embed all:dist
var dist embed.FS

func builtPages() fs.FS {
	sub, err := fs.Sub(dist, "dist")
	if err != nil {
		panic(err) // the name is a constant
	}
	return sub
}

// compressed lets browsers take the pages compressed. Answers of the API are
// not: they hold what a stranger must not be able to guess from their length.
func compressed(h http.Handler) (http.Handler, error) {
	wrap, err := gzhttp.NewWrapper(gzhttp.MinSize(1024), gzhttp.CompressionLevel(gzip.BestCompression))
	if err != nil {
		return nil, fmt.Errorf("web: compression: %w", err)
	}
	return wrap(h), nil
}

// pages serves the built pages, or a notice where they were not built. They
// hold no data: what they show they ask of the API.
type pages struct {
	files fs.FS
	shell string // the page that every path without a file gets
	serve http.Handler
	ahead *packedAssets
}

func newPages(files fs.FS) (*pages, error) {
	p := &pages{files: files, shell: "index.html", serve: http.FileServerFS(files), ahead: &packedAssets{files: files, known: map[string]*packedAsset{}}}
	if _, err := fs.Stat(files, p.shell); err != nil {
		p.shell = "notice.html"
		if _, err := fs.Stat(files, p.shell); err != nil {
			return nil, fmt.Errorf("web: the pages have neither index.html nor notice.html: %w", err)
		}
	}
	return p, nil
}

func (p *pages) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		problem.Write(w, http.StatusMethodNotAllowed, "pages are only read; the API is at "+apiBase)
		return
	}
	name := strings.TrimPrefix(path.Clean("/"+r.URL.Path), "/")
	if name == "" || name == "index.html" {
		p.serveShell(w, r)
		return
	}
	if info, err := fs.Stat(p.files, name); err == nil && !info.IsDir() {
		// The names of built assets carry a hash of what is in them.
		cache := "no-cache"
		if strings.HasPrefix(name, "assets/") {
			cache = "public, max-age=31536000, immutable"
		}
		w.Header().Set("Cache-Control", cache)
		if strings.HasPrefix(name, "assets/") && p.ahead.serve(w, r, name) {
			return
		}
		p.serve.ServeHTTP(w, r)
		return
	}
	if path.Ext(name) != "" || strings.HasPrefix(name+"/", "assets/") {
		w.Header().Set("Cache-Control", "no-store")
		http.NotFound(w, r)
		return
	}
	p.serveShell(w, r) // the app knows the path
}

func (p *pages) serveShell(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-cache")
	http.ServeFileFS(w, r, p.files, p.shell)
}
