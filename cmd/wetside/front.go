package main

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
)

// front is the HTTP listener. It answers from the first moment on: until the
// monitor is up, and while another wetside holds the lab, it says why there
// is nothing to see. Safe for concurrent use.
type front struct {
	listener net.Listener
	server   *http.Server
	served   chan error
	site     atomic.Pointer[http.Handler]
	why      atomic.Pointer[reason]
}

// reason is why there is nothing to see: in words, and where a part is away
// its fault code and since when.
type reason struct {
	text, code string
	since      time.Time
}

// newFront listens on addr, with TLS where secure is given.
func newFront(addr string, secure *tls.Config, log *slog.Logger) (*front, error) {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, err
	}
	if secure != nil {
		l = tls.NewListener(l, secure)
	}
	f := &front{listener: l, served: make(chan error, 1)}
	f.waiting("wetside is starting")
	f.server = &http.Server{
		Handler:           f,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	go func() { f.served <- f.server.Serve(l) }()
	return f, nil
}

func (f *front) addr() string { return f.listener.Addr().String() }

// show puts a site behind the listener.
func (f *front) show(site http.Handler) { f.site.Store(&site) }

// waiting takes the site away and says why.
func (f *front) waiting(why string) { f.hide(reason{text: why}) }

// away takes the site away because a part of the service is away.
func (f *front) away(code string, since time.Time, why string) {
	f.hide(reason{text: why, code: code, since: since})
}

func (f *front) hide(why reason) {
	f.why.Store(&why)
	f.site.Store(nil)
}

// problem is the reason as RFC 9457 has it, with our own code and since.
func (r reason) problem() map[string]any {
	p := map[string]any{"title": "Service Unavailable", "status": http.StatusServiceUnavailable, "detail": r.text}
	if r.code != "" {
		p["code"], p["since"] = r.code, lab.At(r.since)
	}
	return p
}

// ServeHTTP implements http.Handler.
func (f *front) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if site := f.site.Load(); site != nil {
		(*site).ServeHTTP(w, r)
		return
	}
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	if r.URL.Path == "/healthz" {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		_, _ = w.Write([]byte("ok\n")) // a client that is gone needs no answer
		return
	}
	w.Header().Set("Retry-After", "1")
	if strings.HasPrefix(r.URL.Path, "/api/") {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(http.StatusServiceUnavailable)
		_ = json.NewEncoder(w).Encode(f.why.Load().problem()) // as above
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(http.StatusServiceUnavailable)
	_, _ = w.Write([]byte(f.why.Load().text + "\n")) // as above
}

// close ends the listener and lets requests finish for a while.
func (f *front) close() {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := f.server.Shutdown(ctx); err != nil {
		f.server.Close()
	}
	<-f.served
}
