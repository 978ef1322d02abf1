package web

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/live"
)

// apiBase is where the API begins.
const apiBase = "/api/v1"

// Server answers over HTTP. Make it with New.
type Server struct {
	cfg     Config
	log     *slog.Logger
	access  *access.Authenticator
	live    *live.Hub
	metrics *metrics
	api     huma.API
	handler http.Handler

	settings  *settings
	gates     gateBook
	proposing sync.Mutex

	mu      sync.Mutex
	server  *http.Server
	stopped bool
}

// New makes a server. It asks nothing of the store yet.
func New(cfg Config) (*Server, error) {
	if err := cfg.complete(); err != nil {
		return nil, err
	}
	log := cfg.Log.With("part", "web")
	s := &Server{cfg: cfg, log: log, metrics: newMetrics(cfg.Registerer), settings: &settings{store: cfg.Store}}
	s.access = access.New(access.Config{Store: cfg.Store, Sessions: cfg.Sessions, Registerer: cfg.Registerer, Clock: cfg.Clock, Log: log,
		Origins: cfg.Origins, SecureCookies: cfg.SecureCookies, Proxies: cfg.Proxies, Key: cfg.Key, Withdrawn: func() { s.live.RecheckSoon() }})
	s.live = live.New(live.Config{Units: shownUnits{s}, Alerts: shownAlerts{cfg.Store}, Access: s.access, Docs: apiBase + "/asyncapi.yaml",
		Registerer: cfg.Registerer, Clock: cfg.Clock, Log: log, Timing: cfg.Socket})
	var err error
	if s.handler, err = s.routes(); err != nil {
		return nil, err
	}
	return s, nil
}

// Start reads what the live socket's first frame needs and begins to tell
// open sockets what changes. It fails when the store cannot be read.
func (s *Server) Start(ctx context.Context) error {
	if err := s.settings.load(ctx); err != nil {
		return err
	}
	if _, err := s.loadGates(ctx); err != nil {
		return err
	}
	return s.live.Start(ctx)
}

// SetupCode is what the first lead has to show, "" once there is one: for
// whoever started wetside, and nobody else.
func (s *Server) SetupCode(ctx context.Context) string { return s.access.SetupCode(ctx) }

// Handler gives the whole site.
func (s *Server) Handler() http.Handler { return s.handler }

// Serve answers on l until Stop; it then gives nil.
func (s *Server) Serve(l net.Listener) error {
	s.mu.Lock()
	if s.stopped {
		s.mu.Unlock()
		return l.Close()
	}
	if s.server == nil {
		s.server = &http.Server{
			Handler:           s.handler,
			ReadHeaderTimeout: 10 * time.Second,
			ReadTimeout:       30 * time.Second,
			WriteTimeout:      60 * time.Second,
			IdleTimeout:       2 * time.Minute,
			MaxHeaderBytes:    32 << 10,
			ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
		}
	}
	srv := s.server
	s.mu.Unlock()
	if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// Stop closes the sockets, lets requests finish until ctx is done, and waits
// for every goroutine that Start began.
func (s *Server) Stop(ctx context.Context) error {
	s.mu.Lock()
	s.stopped = true
	srv := s.server
	s.mu.Unlock()
	s.live.Stop()
	if srv == nil {
		return nil
	}
	if err := srv.Shutdown(ctx); err != nil {
		return errors.Join(err, srv.Close())
	}
	return nil
}

// PublishUnits tells open sockets how units stand now. It never blocks.
func (s *Server) PublishUnits(units []lab.Unit) { s.live.PublishUnits(units) }

// PublishAlerts tells open sockets that alerts changed. It never blocks. The
// values are a hint only: what is sent is read from the store, because a
// person and the worker may change one alert at the same time.
func (s *Server) PublishAlerts(alerts []lab.Alert) { s.live.PublishAlerts(alerts) }
