package access

import (
	"log/slog"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"

	"wetside/internal/lab"
	"wetside/web/access/accesstest"
)

func TestMain(m *testing.M) {
	accesstest.CheapPasswords()
	goleak.VerifyTestMain(m)
}

var t0 = time.Date(2026, 3, 1, 9, 30, 0, 0, time.UTC)

// newAccess gives an Authenticator over a store in memory.
func newAccess(t *testing.T, s *accesstest.Store, edit ...func(*Config)) *Authenticator {
	cfg := Config{Store: s, Sessions: accesstest.Sessions{Store: s}, Registerer: prometheus.NewRegistry(), Clock: lab.SystemClock{},
		Log: slog.New(slog.NewTextHandler(t.Output(), nil)), Key: []byte("of a test")}
	for _, f := range edit {
		f(&cfg)
	}
	return New(cfg)
}
