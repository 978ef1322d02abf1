package web

import (
	"cmp"
	"context"
	"crypto/rand"
	"io/fs"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/prometheus/client_golang/prometheus"

	"wetside/internal/lab"
	"wetside/web/live"
)

// Store is what web asks of the database.
type Store interface {
	Alerts(ctx context.Context, f lab.AlertFilter) ([]lab.Alert, error) // newest first
	Alert(ctx context.Context, id string) (lab.Alert, error)
	AlertEvents(ctx context.Context, id string) ([]lab.AlertEvent, error)
	Runs(ctx context.Context, f lab.RunFilter) ([]lab.Run, error)
	Run(ctx context.Context, id string) (lab.Run, error)
	Quarantine(ctx context.Context, limit int) ([]lab.Quarantined, error)
	Refusals(ctx context.Context, unit lab.UnitID) ([]lab.Refusal, []lab.Quarantined, error) // newest first
	Trace(ctx context.Context, unit lab.UnitID, from, to time.Time) ([]lab.TracePoint, error)
	Levels(ctx context.Context, unit lab.UnitID, from, to time.Time, most int) ([]lab.LevelPoint, error)
	UnitSettings(ctx context.Context) (map[string]lab.UnitSetting, error)
	SetUnit(ctx context.Context, s lab.UnitSetting, by string) error
	Entries
	People
	LabSettings
	FigureNotices
	Strips
	Books
	WasteBook
	RollRegister
	WallLinks
	Preferences
}

// Live is what the worker knows of the units at this moment.
type Live interface {
	Units() []lab.Unit
	Unit(id lab.UnitID) (lab.Unit, bool)
	Jobs() []lab.Job
}

// Config is what a Server is made of.
type Config struct {
	Store Store // required
	Live  Live  // required
	// Silent tells since when nothing is received from any unit; zero: it is.
	// Defaults to never.
	Silent   func() time.Time
	Actions  AlertActions // required
	Sessions scs.Store    // where sign-ins are kept; required

	// Duty is where people see and change who is called. Defaults to none: 503.
	Duty Roster
	// Links serves the links in pages. Defaults to none: 404.
	Links PageLinks
	// Keys makes and withdraws the keys of units. Defaults to none: 503.
	Keys UnitKeys
	// Reports makes the reports of runs. Defaults to none: 503 until there are.
	Reports Reports
	// Symptoms lists the faults that film of a process can show ("": of any).
	// Defaults to none, and any code is taken.
	Symptoms func(process string) []SymptomCode
	// Sheets are the process sheets and developers. Defaults to the built-in
	// ones, which cannot be changed.
	Sheets Sheets
	// Reach tells where phones, screens and units find this wetside. Defaults
	// to not known.
	Reach func() lab.Reach
	// ExampleRun is one whole run of a unit as a capture, for those who build
	// units. Defaults to none: 404.
	ExampleRun func() ([]byte, error)
	// RuleFigures are the figures that the rules judge by, with where each is
	// from. Defaults to none.
	RuleFigures []RuleFigure

	Ready   func(ctx context.Context) error // nil error: ready. Defaults to never ready
	Metrics http.Handler                    // served at /metrics. Defaults to 404

	// Registerer takes web's own metrics. Defaults to none.
	Registerer prometheus.Registerer
	// Origins are further origins ("https://board.example") whose pages may
	// call the API and open the live socket. Defaults to the same host only.
	Origins []string
	// SecureCookies marks cookies Secure even where TLS ends before wetside.
	// Defaults to whether one of Origins is https; under TLS they always are.
	SecureCookies bool
	// Proxies may say whom they forward for. Defaults to nobody.
	Proxies []netip.Prefix
	// Key signs what browsers bring back: the forms of page links, and which
	// devices somebody signed in from. Defaults to a random one, which is
	// forgotten at the end of the process.
	Key []byte
	// Pages are the built pages. Defaults to those in the program.
	Pages fs.FS
	// Version stands in the API's description. Defaults to "dev".
	Version string

	Clock lab.Clock    // Defaults to the system's
	Log   *slog.Logger // Defaults to discarding

	Socket live.Timing // Defaults to the figures beside its fields
}

func (c *Config) complete() error {
	switch {
	case c.Store == nil:
		return lab.Errorf(lab.KindInvalid, "web: Config.Store is missing")
	case c.Live == nil:
		return lab.Errorf(lab.KindInvalid, "web: Config.Live is missing")
	case c.Actions == nil:
		return lab.Errorf(lab.KindInvalid, "web: Config.Actions is missing")
	case c.Sessions == nil:
		return lab.Errorf(lab.KindInvalid, "web: Config.Sessions is missing")
	}
	for _, o := range c.Origins {
		u, err := url.Parse(o)
		if err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https") || u.Path != "" {
			return lab.Errorf(lab.KindInvalid, "web: origin %q must be scheme and host such as https://board.example", o)
		}
	}
	for _, o := range c.Origins {
		c.SecureCookies = c.SecureCookies || strings.HasPrefix(strings.ToLower(o), "https://")
	}
	if len(c.Key) == 0 {
		c.Key = make([]byte, 32)
		rand.Read(c.Key)
	}
	if c.Ready == nil {
		c.Ready = func(context.Context) error {
			return lab.Errorf(lab.KindUnavailable, "readiness is not wired")
		}
	}
	if c.Sheets == nil {
		c.Sheets = builtinSheets{}
	}
	if c.Metrics == nil {
		c.Metrics = http.NotFoundHandler()
	}
	if c.Registerer == nil {
		c.Registerer = prometheus.NewRegistry()
	}
	if c.Pages == nil {
		c.Pages = builtPages()
	}
	c.Version = cmp.Or(c.Version, "dev")
	if c.Clock == nil {
		c.Clock = lab.SystemClock{}
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	return nil
}
