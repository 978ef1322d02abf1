package access

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"strings"
	"time"

	"wetside/internal/lab"
)

// tokenPrefix lets people and secret scanners recognise a wetside token.
const tokenPrefix = "wst_"

// How long tokens hold: by default, and at most. Common practice, no source.
const (
	TokenLife    = 365 * 24 * time.Hour
	MaxTokenLife = 10 * TokenLife
)

// CreateToken makes an API token that holds until ends, and stores its hash.
// What it gives is shown once: it cannot be read back.
func CreateToken(ctx context.Context, store Store, name, role string, ends time.Time) (string, error) {
	if err := checkName(name); err != nil {
		return "", err
	}
	if strings.HasPrefix(name, ScreenPrefix) {
		return "", lab.Errorf(lab.KindInvalid, "name %q: names that begin with %q are of screens; choose another", name, ScreenPrefix)
	}
	return createToken(ctx, store, lab.Token{Name: name, Role: role, ExpiresAt: ends})
}

func createToken(ctx context.Context, store Store, t lab.Token) (string, error) {
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
	if err := store.CreateToken(ctx, t); err != nil {
		return "", err
	}
	return token, nil
}

// hashToken needs no salt and no slow hash: a token is 256 random bits.
func hashToken(token string) []byte {
	h := sha256.Sum256([]byte(token))
	return h[:]
}
