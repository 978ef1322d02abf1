package web

import (
	"bufio"
	"net"
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

type metrics struct {
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
}

func newMetrics(reg prometheus.Registerer) *metrics {
	m := &metrics{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "wetside_web_requests_total", Help: "HTTP requests answered, by route and status."}, []string{"route", "code"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "wetside_web_request_seconds", Help: "Time to answer an HTTP request.",
			Buckets: []float64{.001, .005, .02, .1, .5, 2, 10}}, []string{"route"}),
	}
	reg.MustRegister(m.requests, m.seconds)
	return m
}

// measure counts and times what next answers.
func (m *metrics) measure(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		sw := &statusWriter{ResponseWriter: w}
		begin := time.Now()
		next.ServeHTTP(sw, r)
		route := r.Pattern // set by the mux: bounded, unlike the path
		if route == "" {
			route = "none"
		}
		m.requests.WithLabelValues(route, strconv.Itoa(sw.code())).Inc()
		if !sw.hijacked {
			m.seconds.WithLabelValues(route).Observe(time.Since(begin).Seconds())
		}
	})
}

// statusWriter remembers the status of a response.
type statusWriter struct {
	http.ResponseWriter
	status   int
	hijacked bool
}

func (w *statusWriter) WriteHeader(code int) {
	if w.status == 0 {
		w.status = code
	}
	w.ResponseWriter.WriteHeader(code)
}

func (w *statusWriter) code() int {
	switch {
	case w.hijacked:
		return http.StatusSwitchingProtocols
	case w.status == 0:
		return http.StatusOK
	}
	return w.status
}

// Hijack lets the WebSocket library take the connection.
func (w *statusWriter) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	conn, rw, err := http.NewResponseController(w.ResponseWriter).Hijack()
	w.hijacked = err == nil
	return conn, rw, err
}

// Unwrap lets http.ResponseController through.
func (w *statusWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }
