package broker

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"log/slog"
	"strings"
	"sync/atomic"
	"time"

	"github.com/eclipse/paho.mqtt.golang/packets"
	"github.com/nats-io/nats-server/v2/server"

	"wetside/internal/lab"
)

// The users that are no units; a unit's name has a slash.
const (
	monitorUser = "monitor"
	programUser = "program"
)

// NewKey makes a key for a unit and the hash to keep of it.
func NewKey() (key string, hash []byte) {
	key = rand.Text()
	return key, HashKey(key)
}

// HashKey gives what is kept of a key. A key is random and long: it needs no
// slow hash.
func HashKey(key string) []byte {
	h := sha256.Sum256([]byte(key))
	return h[:]
}

// The users that the engine knows besides the monitor: the gate, as what it
// brings a guest in.
const (
	gateUnitUser    = "gate-unit"
	gateProgramUser = "gate-program"
)

// authenticator decides who may come in: to the engine (Check), and through the gate
// (admit).
type authenticator struct {
	keys            func(context.Context, lab.UnitID) ([][]byte, error)
	open            bool // loopback: units without a key
	secret, program string
	allowed         atomic.Bool
	log             *slog.Logger
}

const keyTimeout = 3 * time.Second

// Check implements server.Authentication. The engine listens on loopback, and
// every user there has the secret of this start.
func (a *authenticator) Check(c server.ClientAuthentication) bool {
	o := c.GetOpts()
	if !same(o.Password, a.secret) {
		a.log.Warn("broker: connection refused", "user", o.Username, "from", c.RemoteAddress(), "why", "not of this process")
		return false
	}
	switch o.Username {
	case monitorUser:
		c.RegisterUser(&server.User{Username: o.Username})
	case gateProgramUser:
		c.RegisterUser(&server.User{Username: o.Username, Permissions: programMay()})
	default:
		c.RegisterUser(&server.User{Username: o.Username, Permissions: unitMay()})
	}
	return true
}

// admit decides on a CONNECT through the gate; a reason refuses it.
func (a *authenticator) admit(v *guest, user, password string) (code byte, reason string) {
	const (
		unavailable   = packets.ErrRefusedServerUnavailable
		notAuthorized = packets.ErrRefusedNotAuthorised
	)
	unit, err := lab.ParseUnitID(user)
	if err == nil {
		v.named = unit
	}
	switch {
	case user == monitorUser:
		return notAuthorized, "this name is the monitor's own"
	case !a.allowed.Load():
		return unavailable, "the monitor is not there yet"
	case user == programUser:
		if !a.open && !same(password, a.program) {
			return notAuthorized, "wrong key"
		}
		v.program = true
		return 0, ""
	case a.open:
		v.program = true
		return 0, ""
	case err != nil:
		return notAuthorized, "user must be the unit's name lab/unit, password its key"
	}
	hashes, err := a.lookUp(unit)
	if err != nil {
		a.log.Error("broker: cannot look up the keys of a unit", "unit", unit.String(), "error", err)
		return unavailable, "the unit's key cannot be looked up: the database is away"
	}
	v.keyHash = HashKey(password)
	if !holds(hashes, v.keyHash) {
		if len(hashes) == 0 {
			v.named = lab.UnitID{} // a name that anybody can make up has no page
		}
		return notAuthorized, "no such key for this unit"
	}
	v.unit = unit
	return 0, ""
}

func (a *authenticator) lookUp(unit lab.UnitID) ([][]byte, error) {
	ctx, cancel := context.WithTimeout(context.Background(), keyTimeout)
	defer cancel()
	return a.keys(ctx, unit)
}

// holds tells whether got is among the hashes, in the same time wherever.
func holds(hashes [][]byte, got []byte) bool {
	found := 0
	for _, h := range hashes {
		found |= subtle.ConstantTimeCompare(h, got)
	}
	return found == 1
}

func same(a, b string) bool {
	return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1
}

// unitMay: the gate has judged each publish; a unit reads nothing.
func unitMay() *server.Permissions {
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: []string{subject(lab.TopicPrefix) + ">"}},
		Subscribe: &server.SubjectPermission{Deny: []string{">"}},
	}
}

// programMay: the lab's programs publish and read telemetry. The engine
// delivers what a session reads under a subject of its own.
func programMay() *server.Permissions {
	all := subject(lab.TopicPrefix) + ">"
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: []string{all}},
		Subscribe: &server.SubjectPermission{Allow: []string{all, strings.TrimSuffix(all, ".>"), "$MQTT.sub.>"}},
	}
}

// subject is a topic in the engine's own terms.
func subject(topic string) string { return strings.ReplaceAll(topic, "/", ".") }
