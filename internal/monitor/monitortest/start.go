package monitortest

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"testing"
	"time"

	"wetside/ingest"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/postgres"
)

// Start runs the whole service in this process.
func Start(t testing.TB, cfg monitor.Config) *monitor.Program {
	t.Helper()
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Listen == "" {
		cfg.Listen = "127.0.0.1:0"
	}
	if cfg.Data == "" {
		cfg.Data = t.TempDir()
	}
	p := monitor.New(cfg)
	ctx, cancel := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- p.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := labtest.Receive(t, ran, "the end of the program"); err != nil {
			t.Errorf("the program ended with: %v", err)
		}
	})
	select {
	case <-p.Up():
	case err := <-ran:
		ran <- nil
		t.Fatalf("the program ended before it was up: %v", err)
	case <-time.After(labtest.Patience):
		t.Fatal("the program is not up")
	}
	return p
}

// Ready waits until the service says that it watches.
func Ready(t testing.TB, base string) {
	t.Helper()
	labtest.Poll(t, "wetside is ready at "+base, func() bool {
		resp, err := Client.Get(base + "/readyz")
		if err != nil {
			return false
		}
		defer resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
}

// Readiness is what /readyz says; 0 where nobody answers.
func Readiness(t testing.TB, base string) (status int, text string) {
	t.Helper()
	resp, err := Client.Get(base + "/readyz")
	if err != nil {
		return 0, ""
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	return resp.StatusCode, string(b)
}

// StoreConfig is how tests open a database beside the monitor.
func StoreConfig(url string) postgres.Config {
	return postgres.Config{URL: url, Decode: ingest.Decode, App: "wetside test"}
}
