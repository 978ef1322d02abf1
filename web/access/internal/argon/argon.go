// Package argon keeps passwords as Argon2id hashes (RFC 9106) in their usual
// encoded form. It knows nothing of what makes a password a good one.
//
// Hash and Verify are safe for concurrent use: two passwords are worked on at
// once, further ones wait.
package argon

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// The cost of a password, by the second recommended option of RFC 9106,
// section 4: Argon2id, 3 passes, 4 lanes, 64 MiB, salt 128 bits, tag 256 bits.
const (
	saltLen = 16
	tagLen  = 32
)

// cost is a variable for the tests, which hash often: see Cheapen.
var cost = hash{passes: 3, lanes: 4, kib: 64 << 10}

// Cheapen makes hashes that cost next to nothing and hold off nobody. It is
// for tests, before the first hash; only packages under web/access can reach it.
func Cheapen() { cost.kib, cost.passes = 64, 1 }

// Longest is the longest password that is looked at, in bytes: it bounds the
// work.
const Longest = 256

// working lets two passwords be hashed at once: each takes 64 MiB.
var working = make(chan struct{}, 2)

// Hash gives the encoded form that is stored, with a fresh salt.
func Hash(ctx context.Context, password string) (string, error) {
	salt := make([]byte, saltLen)
	rand.Read(salt) // never fails: crypto/rand ends the program instead
	h := cost
	h.salt = salt
	tag, err := h.compute(ctx, password, tagLen)
	if err != nil {
		return "", err
	}
	h.tag = tag
	return h.String(), nil
}

// Verify tells whether password gives the encoded hash.
func Verify(ctx context.Context, encoded, password string) (bool, error) {
	h, err := parse(encoded)
	if err != nil {
		return false, err
	}
	if len(password) > Longest {
		return false, nil
	}
	tag, err := h.compute(ctx, password, uint32(len(h.tag)))
	if err != nil {
		return false, err
	}
	return subtle.ConstantTimeCompare(tag, h.tag) == 1, nil
}

// hash is one Argon2id hash in parts.
type hash struct {
	kib, passes uint32
	lanes       uint8
	salt, tag   []byte
}

func (h hash) compute(ctx context.Context, password string, n uint32) ([]byte, error) {
	select {
	case working <- struct{}{}:
		defer func() { <-working }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	return argon2.IDKey([]byte(password), h.salt, h.passes, h.kib, h.lanes, n), nil
}

// String writes the usual encoded form, unpadded base64 for salt and tag.
func (h hash) String() string {
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version,
		h.kib, h.passes, h.lanes, b64.EncodeToString(h.salt), b64.EncodeToString(h.tag))
}

func parse(s string) (hash, error) {
	var h hash
	parts := strings.Split(s, "$")
	if len(parts) != 6 || parts[1] != "argon2id" || parts[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return h, fmt.Errorf("stored password is not an argon2id version %d hash", argon2.Version)
	}
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &h.kib, &h.passes, &h.lanes); err != nil {
		return h, fmt.Errorf("stored password: parameters: %w", err)
	}
	var err error
	if h.salt, err = base64.RawStdEncoding.DecodeString(parts[4]); err != nil {
		return h, fmt.Errorf("stored password: salt: %w", err)
	}
	if h.tag, err = base64.RawStdEncoding.DecodeString(parts[5]); err != nil {
		return h, fmt.Errorf("stored password: tag: %w", err)
	}
	if h.passes == 0 || h.lanes == 0 || h.kib > 1<<20 || len(h.tag) < 16 {
		return h, fmt.Errorf("stored password: parameters out of range")
	}
	return h, nil
}
