// Package listener is where the pages and the API are reached: an HTTP server
// that answers from the first moment on. Until there is a site to show, while
// another wetside holds the lab and while the database is away, it says why
// there is nothing to see; what another wetside shows it forwards there, and
// says so where that one cannot be reached. With a certificate it speaks TLS, and takes a
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
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
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
	log    *slog.Logger
	now    atomic.Pointer[shown]
	turn   sync.Mutex // one change at a time
}

// shown is what it answers with: a site, another's, or why there is none.
type shown struct {
	site http.Handler
	key  []byte // of marks of who forwards to the site
	to   *forwarder
	why  reason
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
	l := &Listener{socket: socket, done: make(chan struct{}), log: log}
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

// Show puts a site behind the listener. What another wetside forwards and signs
// with key is taken as if it had come here directly.
func (l *Listener) Show(site http.Handler, key []byte) { l.show(shown{site: site, key: key}) }

// Forward has another wetside's site shown; why is said to who asks whether
// this one is ready, and where the other cannot be reached.
func (l *Listener) Forward(to Holder, why string) {
	if old := l.now.Load(); old.to != nil && old.to.to.Address == to.Address && old.to.to.Certificate == to.Certificate && (old.to.to.Key == nil) == (to.Key == nil) {
		if old.why.text != why {
			l.show(shown{to: old.to, why: reason{text: why}})
		}
		return
	}
	f, err := newForwarder(to, l.log)
	if err != nil {
		l.Waiting(why + "; where its pages are is not known: " + err.Error())
		return
	}
	l.show(shown{to: f, why: reason{text: why}})
}

func (l *Listener) show(s shown) {
	l.turn.Lock()
	old := l.now.Swap(&s)
	l.turn.Unlock()
	if old != nil && old.to != nil && old.to != s.to {
		old.to.stop()
	}
}

// Waiting takes the site away and says why.
func (l *Listener) Waiting(why string) { l.hide(reason{text: why}) }

// Away takes the site away because a part of the service is away: its fault
// code, since when, and why in words.
func (l *Listener) Away(code string, since time.Time, why string) {
	l.hide(reason{text: why, code: code, since: since})
}

func (l *Listener) hide(why reason) { l.show(shown{why: why}) }

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
	now := l.now.Load()
	switch {
	case now.site != nil:
		now.site.ServeHTTP(w, directly(now.key, r, time.Now()))
	case now.to != nil && !ofThisProcess(r.URL.Path):
		l.forward(w, r, now)
	default:
		now.why.answer(w, r)
	}
}

// ofThisProcess tells what is asked of one process and not of the lab.
func ofThisProcess(path string) bool {
	return path == "/healthz" || path == "/readyz" || path == "/metrics"
}

// forward passes a request on to who holds the lab.
func (l *Listener) forward(w http.ResponseWriter, r *http.Request, now *shown) {
	if r.Header.Get(forwardedHeader) != "" {
		reason{text: "the wetside that this was forwarded to stands by as well: " + now.why.text}.answer(w, r)
		return
	}
	now.to.serve(w, r, func(err error) {
		if r.Context().Err() != nil {
			return // nobody waits for an answer any more
		}
		if next := l.now.Load(); next.site != nil && (r.Method == http.MethodGet || r.Method == http.MethodHead) {
			next.site.ServeHTTP(w, r) // taken over meanwhile
			return
		}
		l.log.Warn("what another wetside shows cannot be forwarded", "to", now.to.to.Address, "error", err)
		reason{text: fmt.Sprintf("%s. Its pages cannot be reached from here at %s: %s. Try again in a moment; if that does not help, open the pages at that address, or look at that machine and the network to it",
			now.why.text, now.to.to.Address, err)}.answer(w, r)
	})
}

// answer says why there is nothing to see. A browser asks again by itself.
func (why reason) answer(w http.ResponseWriter, r *http.Request) {
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
		_ = json.NewEncoder(w).Encode(why.problem()) // as above
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Refresh", "5") // a browser looks again by itself (HTML, the pragma of that name)
	w.WriteHeader(http.StatusServiceUnavailable)
	_, _ = w.Write([]byte(why.text + "\n")) // as above
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
	l.Waiting("wetside has ended")
}
