package live

import "github.com/prometheus/client_golang/prometheus"

type metrics struct {
	clients prometheus.Gauge
	frames  *prometheus.CounterVec
	lagged  prometheus.Counter
}

func newMetrics(reg prometheus.Registerer) metrics {
	m := metrics{
		clients: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "wetside_web_live_clients", Help: "Open live sockets."}),
		frames: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "wetside_web_live_frames_total", Help: "Frames sent on live sockets, by type."}, []string{"type"}),
		lagged: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "wetside_web_live_lagged_total", Help: "Times a live socket fell behind and got a snapshot."}),
	}
	reg.MustRegister(m.clients, m.frames, m.lagged)
	return m
}
