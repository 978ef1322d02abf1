package broker

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"log/slog"
	"net"
	"strings"
	"sync/atomic"
	"time"

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

// door decides who may connect and what they may do there.
type door struct {
	keys            func(context.Context, lab.UnitID) ([][]byte, error)
	open            bool // loopback: units without a key
	secret, program string
	allowed         atomic.Bool
	log             *slog.Logger
}

const keyTimeout = 3 * time.Second

// Check implements server.Authentication.
func (d *door) Check(c server.ClientAuthentication) bool {
	o := c.GetOpts()
	user, password := o.Username, o.Password
	if user == monitorUser {
		if !same(password, d.secret) {
			return d.refuse(c, user, "not the monitor of this process")
		}
		c.RegisterUser(&server.User{Username: user})
		return true
	}
	if !d.allowed.Load() {
		return d.refuse(c, user, "the monitor is not there yet")
	}
	switch {
	case user == programUser:
		if !d.open && !same(password, d.program) {
			return d.refuse(c, user, "wrong key")
		}
		c.RegisterUser(&server.User{Username: user, Permissions: programMay()})
	case d.open:
		c.RegisterUser(&server.User{Username: user, Permissions: programMay()})
	default:
		unit, err := lab.ParseUnitID(user)
		if err != nil {
			return d.refuse(c, user, "want the unit's name lab/unit as user and its key as password")
		}
		if !d.hasKey(unit, password) {
			return d.refuse(c, user, "no such key for this unit")
		}
		c.RegisterUser(&server.User{Username: user, Permissions: unitMay(unit)})
	}
	return true
}

func (d *door) hasKey(unit lab.UnitID, key string) bool {
	ctx, cancel := context.WithTimeout(context.Background(), keyTimeout)
	defer cancel()
	hashes, err := d.keys(ctx, unit)
	if err != nil {
		d.log.Error("broker: cannot look up the keys of a unit", "unit", unit.String(), "error", err)
		return false
	}
	got := HashKey(key)
	found := 0
	for _, h := range hashes {
		found |= subtle.ConstantTimeCompare(h, got)
	}
	return found == 1
}

func (d *door) refuse(c server.ClientAuthentication, user, why string) bool {
	var from net.Addr = c.RemoteAddress()
	d.log.Warn("broker: connection refused", "user", user, "from", from, "why", why)
	return false
}

func same(a, b string) bool {
	return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1
}

// unitMay: a unit publishes under its own topics and reads nothing.
func unitMay(u lab.UnitID) *server.Permissions {
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: []string{subject(lab.TopicPrefix+u.String()) + ".*"}},
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
