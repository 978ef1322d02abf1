package notify

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Timeout is how long the other end has to take a message.
const Timeout = 20 * time.Second

// Error is how a try went that was no success.
type Error struct {
	Outcome string // one of lab.Outcome...
	Text    string // for people
	After   time.Duration
	// Gone lists the subscriptions whose other end is no more.
	Gone  []lab.PushSubscription
	Cause error
}

// Error implements error.
func (e *Error) Error() string { return e.Text }

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Unavailable makes the error of a contact method that is not there.
func Unavailable(format string, args ...any) *Error {
	return &Error{Outcome: lab.OutcomeUnavailable, Text: fmt.Sprintf(format, args...)}
}

func failed(format string, args ...any) *Error {
	err := fmt.Errorf(format, args...)
	return &Error{Outcome: lab.OutcomeFailed, Text: err.Error(), Cause: errors.Unwrap(err)}
}

// Of gives err as an *Error; what is none counts as failed.
func Of(err error) *Error {
	if e, ok := errors.AsType[*Error](err); ok {
		return e
	}
	return &Error{Outcome: lab.OutcomeFailed, Text: err.Error(), Cause: err}
}

// plain says what a network error was, in few words and without what the
// address may hold of secrets.
func plain(ctx context.Context, err error) string {
	if f, ok := errors.AsType[*errForbidden](err); ok {
		return f.Error()
	}
	switch {
	case errors.Is(err, context.DeadlineExceeded) || ctx.Err() != nil:
		return "it gave no answer in time"
	case noNetwork(err):
		return "its name cannot be found; is there internet?"
	}
	var op *net.OpError
	if errors.As(err, &op) {
		return op.Err.Error()
	}
	text := err.Error()
	if i := strings.LastIndex(text, "\": "); i >= 0 { // net/http quotes the whole address
		text = text[i+3:]
	}
	return text
}

// noNetwork tells errors of a machine that has no internet: names are not
// found, or there is no road to anywhere.
func noNetwork(err error) bool {
	var dns *net.DNSError
	if errors.As(err, &dns) {
		return true
	}
	return strings.Contains(err.Error(), "network is unreachable")
}

// retryAfter reads a Retry-After header: seconds, or a date.
func retryAfter(h http.Header, now time.Time) time.Duration {
	v := h.Get("Retry-After")
	if s, err := strconv.Atoi(v); err == nil && s >= 0 {
		return min(time.Duration(s)*time.Second, maxAfter)
	}
	if at, err := http.ParseTime(v); err == nil && at.After(now) {
		return min(at.Sub(now), maxAfter)
	}
	return 0
}

// maxAfter bounds what a receiver may ask for: a page that waits an hour is
// none.
const maxAfter = 10 * time.Minute

// newClient makes a client that follows no redirect (a page must not end up
// where nobody meant it to) and keeps its connections.
func newClient(t *http.Transport) *http.Client {
	return &http.Client{
		Transport:     t,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

func newTransport(d *dialer) *http.Transport {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.DialContext = d.DialContext
	t.Proxy = proxied
	t.MaxIdleConnsPerHost = 2
	t.IdleConnTimeout = 60 * time.Second
	t.TLSHandshakeTimeout = Timeout / 2
	t.MaxResponseHeaderBytes = 32 << 10
	return t
}
