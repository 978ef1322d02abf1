package access

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"log/slog"
	"net/netip"
	"sync"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/prometheus/client_golang/prometheus"

	"wetside/internal/lab"
)

// Store is the part of the store that knows people and tokens.
type Store interface {
	CreateUser(ctx context.Context, u lab.User) error // KindConflict where the name is taken
	UserByName(ctx context.Context, name string) (lab.User, error)
	Users(ctx context.Context) ([]lab.User, error)
	SetPassword(ctx context.Context, name, passwordHash string) error
	CreateToken(ctx context.Context, t lab.Token) error
	TokenByHash(ctx context.Context, hash []byte) (lab.Token, error)
	TokenUsed(ctx context.Context, name string, at time.Time) error
}

// Config is what an Authenticator is made of.
type Config struct {
	Store      Store                 // required
	Sessions   scs.Store             // where sign-ins are kept; required
	Registerer prometheus.Registerer // required
	Clock      lab.Clock             // required
	Log        *slog.Logger          // required

	// Origins are further origins ("https://board.example") whose pages may
	// call the API and open the live socket. Defaults to the same host only.
	Origins []string
	// SecureCookies marks cookies Secure even where TLS ends before wetside.
	SecureCookies bool
	// Proxies may say whom they forward for. Defaults to nobody.
	Proxies []netip.Prefix
	// Key signs what browsers bring back: the forms of page links, and which
	// devices somebody signed in from. Required.
	Key []byte
	// Withdrawn is called when sign-ins have ended: who keeps something open for
	// them looks again. Defaults to nobody.
	Withdrawn func()
}

// Authenticator tells who is asking. Make it with New.
type Authenticator struct {
	store    Store
	clock    lab.Clock
	log      *slog.Logger
	key      []byte
	sessions *scs.SessionManager
	attempts *attempts
	signIns  *prometheus.CounterVec
	network
	withdrawn func()
	linkUses  perMinute

	setupCode string
	setup     sync.Mutex  // makes the first user one at a time
	anyUser   atomic.Bool // somebody has set a password: never taken back
}

// New makes an Authenticator. It asks nothing of the store yet.
func New(cfg Config) *Authenticator {
	a := &Authenticator{
		store: cfg.Store, clock: cfg.Clock, log: cfg.Log, key: cfg.Key,
		sessions: newSessions(cfg.Sessions),
		attempts: newAttempts(cfg.Clock),
		network:  newNetwork(cfg),
		signIns: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "wetside_web_sign_ins_total", Help: "Attempts to sign in, by result: good, bad, refused (too many)."}, []string{"result"}),
		// 80 random bits, shown to whoever started the program
		setupCode: rand.Text()[:16],
	}
	if a.withdrawn = cfg.Withdrawn; a.withdrawn == nil {
		a.withdrawn = func() {}
	}
	cfg.Registerer.MustRegister(a.signIns)
	return a
}

// keyed signs what a browser brings back.
func (a *Authenticator) keyed(parts ...string) string {
	mac := hmac.New(sha256.New, a.key)
	for _, p := range parts {
		mac.Write([]byte(p))
		mac.Write([]byte{0})
	}
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil)[:18])
}
