package web

import (
	"bytes"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
)

// packLeast is the size below which packing is not worth it.
const packLeast = 1024

// packedAssets keeps built assets as they go out packed: each is packed once,
// as small as it can be, and not for every browser that asks.
type packedAssets struct {
	files fs.FS
	mu    sync.Mutex
	known map[string]*packedAsset
}

// packedAsset is one file by its codings; one that is not worth packing has none.
type packedAsset struct {
	once  sync.Once
	forms map[string][]byte
}

// codings are what assets are packed by, the smaller first: Zstandard (RFC 8878
// and, for browsers, 9659) and gzip (RFC 1952).
var codings = []struct {
	name string
	pack func([]byte) ([]byte, error)
}{
	{"zstd", func(b []byte) ([]byte, error) {
		w, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedBestCompression), zstd.WithEncoderConcurrency(1), zstd.WithWindowSize(8<<20))
		if err != nil {
			return nil, err
		}
		defer w.Close()
		return w.EncodeAll(b, nil), nil
	}},
	{"gzip", func(b []byte) ([]byte, error) {
		var out bytes.Buffer
		w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(b); err != nil {
			return nil, err
		}
		err = w.Close()
		return out.Bytes(), err
	}},
}

func (p *packedAssets) of(name string) *packedAsset {
	p.mu.Lock()
	a := p.known[name]
	if a == nil {
		a = &packedAsset{}
		p.known[name] = a
	}
	p.mu.Unlock()
	a.once.Do(func() {
		b, err := fs.ReadFile(p.files, name)
		if err != nil || len(b) < packLeast || !worthPacking(name) {
			return
		}
		a.forms = map[string][]byte{}
		for _, c := range codings {
			if packed, err := c.pack(b); err == nil && len(packed) < len(b) {
				a.forms[c.name] = packed
			}
		}
	})
	return a
}

func worthPacking(name string) bool {
	switch path.Ext(name) {
	case ".js", ".css", ".svg", ".json", ".html":
		return true
	}
	return false
}

// serve answers with an asset that exists, packed as the browser takes it;
// false: it is to be sent as it is.
func (p *packedAssets) serve(w http.ResponseWriter, r *http.Request, name string) bool {
	forms := p.of(name).forms
	for _, c := range codings {
		b, ok := forms[c.name]
		if !ok || !takes(r.Header.Get("Accept-Encoding"), c.name) {
			continue
		}
		h := w.Header()
		h.Set("Content-Type", mime.TypeByExtension(path.Ext(name)))
		h.Set("Content-Encoding", c.name)
		h.Set("Content-Length", strconv.Itoa(len(b)))
		if r.Method != http.MethodHead {
			_, _ = w.Write(b) // the browser may have gone
		}
		return true
	}
	return false
}

// takes tells whether an Accept-Encoding names a coding with a weight above
// nought (RFC 9110, section 12.5.3).
func takes(accept, coding string) bool {
	for part := range strings.SplitSeq(accept, ",") {
		name, weight, weighed := strings.Cut(strings.TrimSpace(part), ";")
		if !strings.EqualFold(strings.TrimSpace(name), coding) {
			continue
		}
		if !weighed {
			return true
		}
		q, err := strconv.ParseFloat(strings.TrimPrefix(strings.TrimSpace(weight), "q="), 64)
		return err == nil && q > 0
	}
	return false
}
