package live

import (
	"cmp"
	"context"
	"log/slog"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wetside/internal/lab"
	"wetside/web/access"
)

// Units are the units as people see them.
type Units interface {
	// Unit gives a unit as the worker knows it.
	Unit(id lab.UnitID) (lab.Unit, bool)
	// View gives a unit as it is shown, Views all of them, by id. They may ask
	// the Hub for OpenAlerts.
	View(u lab.Unit) lab.Unit
	Views() []lab.Unit
	// Reload reads again what is shown with units and was not published; what
	// changed by it is published. It is called now and then.
	Reload(ctx context.Context) error
}

// Alerts is the part of the store that knows alerts. They come as they are
// shown.
type Alerts interface {
	Alerts(ctx context.Context, f lab.AlertFilter) ([]lab.Alert, error)
	Alert(ctx context.Context, id string) (lab.Alert, error)
}

// Access says who may open a socket, and who may keep it.
type Access interface {
	Authenticate(r *http.Request) (access.Identity, error)
	MayOpenSocket(r *http.Request, who access.Identity) bool
	Deny(w http.ResponseWriter, r *http.Request, err error)
	Identify(ctx context.Context, c access.Credential) (access.Identity, error)
}

// Config is what a Hub is made of. All of it is required but Timing.
type Config struct {
	Units      Units
	Alerts     Alerts
	Access     Access
	Docs       string // the path of the document that describes the frames
	Registerer prometheus.Registerer
	Clock      lab.Clock
	Log        *slog.Logger
	Timing     Timing
}

// Timing holds the figures of the live socket; zero fields take their defaults.
type Timing struct {
	Beat       time.Duration // between heartbeats. Defaults to 4 s
	Ping       time.Duration // between pings. Defaults to 20 s
	PongWait   time.Duration // without any pong. Defaults to 60 s
	WriteWait  time.Duration // for one frame to go out. Defaults to 10 s
	Lag        time.Duration // after which a client gets a snapshot instead of changes. Defaults to 1 s
	Recheck    time.Duration // between looks at the sign-in behind a socket. Defaults to 5 s
	Reload     time.Duration // between full readings of the open alerts. Defaults to 30 s
	MaxClients int           // open sockets. Defaults to 2,000
	MaxOfOne   int           // open sockets of one person, token or screen. Defaults to 50
}

func (t Timing) complete() Timing {
	return Timing{
		Beat: cmp.Or(t.Beat, 4*time.Second), Ping: cmp.Or(t.Ping, 20*time.Second), PongWait: cmp.Or(t.PongWait, 60*time.Second),
		WriteWait: cmp.Or(t.WriteWait, 10*time.Second), Lag: cmp.Or(t.Lag, time.Second), Recheck: cmp.Or(t.Recheck, 5*time.Second),
		Reload: cmp.Or(t.Reload, 30*time.Second), MaxClients: cmp.Or(t.MaxClients, 2000), MaxOfOne: cmp.Or(t.MaxOfOne, 50),
	}
}
