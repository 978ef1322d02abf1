package ingest

import (
	"errors"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wetside/internal/lab"
)

// Stats counts what a Service has done since New.
type Stats struct {
	New, Copies, Quarantined int64 // as the store reported them
	Committed                int64 // messages in committed batches, refused ones included
	Acknowledged             int64
	Queued, QueuedBytes      int // received and not yet committed
}

type stats struct {
	fresh, copies, quarantined, total, acknowledged atomic.Int64
}

func (s *stats) committed(n int, r lab.AppendResult) {
	s.fresh.Add(int64(r.New))
	s.copies.Add(int64(r.Copies))
	s.quarantined.Add(int64(r.Quarantined))
	s.total.Add(int64(n))
}

type metrics struct {
	messages    *prometheus.CounterVec
	refused     *prometheus.CounterVec
	disconnects *prometheus.CounterVec
	storeErrors prometheus.Counter
	size, took  prometheus.Histogram
}

func newMetrics(reg prometheus.Registerer, s *Service) (*metrics, error) {
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Name: "wetside_ingest_" + name, Help: help}, labels)
	}
	gauge := func(name, help string, f func() float64) prometheus.Collector {
		return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "wetside_ingest_" + name, Help: help}, f)
	}
	m := &metrics{
		messages:    counter("messages_total", "Telemetry committed, by what became of it: new, copy, quarantined.", "result"),
		refused:     counter("refused_total", "Telemetry that Decode refused, by code.", "code"),
		disconnects: counter("disconnects_total", "Sessions ended or not begun, by cause: lost, connect, queue-full, store.", "cause"),
		storeErrors: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "wetside_ingest_store_errors_total", Help: "Batches that the store did not take at a try."}),
		size: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "wetside_ingest_batch_messages", Help: "Messages in a committed batch.",
			Buckets: []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000}}),
		took: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "wetside_ingest_commit_seconds", Help: "Time the store took to commit a batch.",
			Buckets: prometheus.ExponentialBuckets(0.0005, 2, 14)}),
	}
	if reg == nil {
		return m, nil
	}
	var errs []error
	for _, c := range []prometheus.Collector{m.messages, m.refused, m.disconnects, m.storeErrors, m.size, m.took,
		gauge("connected", "1 while the session is subscribed.", func() float64 { return one(s.Connected()) }),
		gauge("caught_up", "1 while nothing waits and no backlog arrives.", func() float64 { return one(s.CaughtUp()) }),
		gauge("queue_messages", "Messages received and not yet committed.", func() float64 { return float64(s.Stats().Queued) }),
		gauge("queue_bytes", "Size of the messages received and not yet committed.", func() float64 { return float64(s.Stats().QueuedBytes) }),
		gauge("acknowledged", "Messages acknowledged since start.", func() float64 { return float64(s.Stats().Acknowledged) }),
	} {
		errs = append(errs, reg.Register(c))
	}
	return m, errors.Join(errs...)
}

func (m *metrics) batch(n int, took time.Duration, r lab.AppendResult) {
	m.messages.WithLabelValues("new").Add(float64(r.New))
	m.messages.WithLabelValues("copy").Add(float64(r.Copies))
	m.messages.WithLabelValues("quarantined").Add(float64(r.Quarantined))
	m.size.Observe(float64(n))
	m.took.Observe(took.Seconds())
}

func one(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
