// Package listener is where the pages and the API are reached: an HTTP server
// that answers from the first moment on. Until there is a site to show, while
// another wetside holds the lab and while the database is away, it says why
// there is nothing to see. With a certificate it speaks TLS, and takes a
// renewed certificate by itself.
//
//	l, err := listener.New("127.0.0.1:8080", nil, log)
//	defer l.Close()
//	l.Show(site)
//
// Everything but Close is safe to call from any goroutine at any time.
package listener

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
)

// Listener is the HTTP server of the pages and the API.
type Listener struct {
	socket net.Listener
	server *http.Server
	done   chan struct{}
	err    error // read once done is closed
	site   atomic.Pointer[http.Handler]
	why    atomic.Pointer[reason]
}

// reason is why there is nothing to see: in words, and where a part is away
// its fault code and since when.
type reason struct {
	text, code string
	since      time.Time
}

// New listens on addr, with TLS where secure is given.
func New(addr string, secure *tls.Config, log *slog.Logger) (*Listener, error) {
	socket, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, err
	}
	if secure != nil {
		socket = tls.NewListener(socket, secure)
	}
	l := &Listener{socket: socket, done: make(chan struct{})}
	l.Waiting("wetside is starting")
	l.server = &http.Server{
		Handler:           l,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	go l.serve()
	return l, nil
}

func (l *Listener) serve() {
	defer close(l.done)
	if err := l.server.Serve(l.socket); !errors.Is(err, http.ErrServerClosed) {
		l.err = err
	}
}

// Addr is where it listens.
func (l *Listener) Addr() string { return l.socket.Addr().String() }

// Show puts a site behind the listener.
func (l *Listener) Show(site http.Handler) { l.site.Store(&site) }

// Waiting takes the site away and says why.
func (l *Listener) Waiting(why string) { l.hide(reason{text: why}) }

// Away takes the site away because a part of the service is away: its fault
// code, since when, and why in words.
func (l *Listener) Away(code string, since time.Time, why string) {
	l.hide(reason{text: why, code: code, since: since})
}

func (l *Listener) hide(why reason) {
	l.why.Store(&why)
	l.site.Store(nil)
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
func (l *Listener) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if site := l.site.Load(); site != nil {
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
		_ = json.NewEncoder(w).Encode(l.why.Load().problem()) // as above
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(http.StatusServiceUnavailable)
	_, _ = w.Write([]byte(l.why.Load().text + "\n")) // as above
}

// Done is closed when nothing is served any more, after Close or because the
// socket failed; Err says which.
func (l *Listener) Done() <-chan struct{} { return l.done }

// Err is why nothing is served any more, nil after Close; once Done is closed.
func (l *Listener) Err() error { return l.err }

// Close ends the listener and lets requests finish for a while.
func (l *Listener) Close() {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := l.server.Shutdown(ctx); err != nil {
		l.server.Close()
	}
	<-l.done
}
