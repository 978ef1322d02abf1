package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"net"
	"regexp"
	"strings"
	"time"

	"wetside/internal/lab"
)

// tokenPrefix lets people and secret scanners recognise a wetside token.
const tokenPrefix = "wst_"

var personName = regexp.MustCompile(`^[\p{L}\p{N}][\p{L}\p{N} ._@-]{0,63}$`)

// roleRank orders the roles; 0 is no role.
func roleRank(role string) int {
	switch role {
	case lab.RoleViewer:
		return 1
	case lab.RoleOperator:
		return 2
	case lab.RoleLead:
		return 3
	}
	return 0
}

func checkRole(role string) error {
	if roleRank(role) == 0 {
		return lab.Errorf(lab.KindInvalid, "role must be viewer, operator or lead; got %q", role)
	}
	return nil
}

func checkName(name string) error {
	if !personName.MatchString(name) || strings.TrimSpace(name) != name {
		return lab.Errorf(lab.KindInvalid, "name %q must be 1 to 64 letters, digits, spaces, dots, _, @ or -, beginning with a letter or digit", name)
	}
	return nil
}

// How long tokens hold: by default, and at most. Common practice, no source.
const (
	TokenLife    = 365 * 24 * time.Hour
	MaxTokenLife = 10 * TokenLife
)

// CreateToken makes an API token that holds until ends, and stores its hash.
// What it gives is shown once: it cannot be read back.
func CreateToken(ctx context.Context, p People, name, role string, ends time.Time) (string, error) {
	if err := checkName(name); err != nil {
		return "", err
	}
	if strings.HasPrefix(name, wallPrefix) {
		return "", lab.Errorf(lab.KindInvalid, "name %q: names that begin with %q are of screens; choose another", name, wallPrefix)
	}
	return createToken(ctx, p, lab.Token{Name: name, Role: role, ExpiresAt: ends})
}

func createToken(ctx context.Context, p People, t lab.Token) (string, error) {
	if err := checkName(t.Name); err != nil {
		return "", err
	}
	if err := checkRole(t.Role); err != nil {
		return "", err
	}
	secret := make([]byte, 32)
	rand.Read(secret)
	token := tokenPrefix + base64.RawURLEncoding.EncodeToString(secret)
	t.Hash = hashToken(token)
	if err := p.CreateToken(ctx, t); err != nil {
		return "", err
	}
	return token, nil
}

// hashToken needs no salt and no slow hash: a token is 256 random bits.
func hashToken(token string) []byte {
	h := sha256.Sum256([]byte(token))
	return h[:]
}

// CreateUser adds a person with a password.
func CreateUser(ctx context.Context, p People, name, role, password string) error {
	if err := checkName(name); err != nil {
		return err
	}
	if err := checkRole(role); err != nil {
		return err
	}
	hash, err := newPassword(ctx, p, name, password)
	if err != nil {
		return err
	}
	return p.CreateUser(ctx, lab.User{Name: name, Role: role, PasswordHash: hash})
}

// demoName is who signs in to a demonstration.
const demoName = "demo"

// DemoPassword makes the user of a demonstration, a lead named "demo", with a
// fresh random password, which the caller prints.
func DemoPassword(ctx context.Context, p People) (name, password string, err error) {
	password = strings.ToLower(rand.Text()[:16]) // 80 random bits
	hash, err := HashPassword(ctx, password)
	if err != nil {
		return "", "", err
	}
	_, err = p.UserByName(ctx, demoName)
	switch {
	case err == nil:
		err = p.SetPassword(ctx, demoName, hash)
	case lab.KindOf(err) == lab.KindNotFound:
		err = p.CreateUser(ctx, lab.User{Name: demoName, Role: lab.RoleLead, PasswordHash: hash})
	}
	return demoName, password, err
}

// PasswordSet tells whether anybody can sign in yet.
func PasswordSet(ctx context.Context, p People) (bool, error) {
	users, err := p.Users(ctx)
	return len(users) > 0, err
}

// MayListen is nil where addr may be listened on: a loopback address always,
// any other only once somebody has set a password.
func MayListen(ctx context.Context, p People, addr string) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return lab.Errorf(lab.KindInvalid, "listen address %q is not host:port, such as 127.0.0.1:8080: %w", addr, err)
	}
	if loopbackHost(host) {
		return nil
	}
	set, err := PasswordSet(ctx, p)
	if err != nil {
		return err
	}
	if !set {
		return lab.Errorf(lab.KindForbidden,
			"%s would be reachable from other machines and nobody has set a password yet; "+
				"listen on 127.0.0.1 first, open the page there, set the first lead's name and password, and start again with this address", addr)
	}
	return nil
}

// loopbackHost tells whether host, an address or "localhost", is this machine
// only. An empty host means every address.
func loopbackHost(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}
