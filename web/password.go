package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"

	"wetside/internal/lab"
)

// The cost of a password, by the second recommended option of RFC 9106,
// section 4: Argon2id, 3 passes, 4 lanes, 64 MiB, salt 128 bits, tag 256 bits.
const (
	argonSaltLen = 16
	argonTagLen  = 32
)

// passwordCost is a variable for the tests, which hash often.
var passwordCost = argonHash{passes: 3, lanes: 4, kib: 64 << 10}

// Lengths of a password that are accepted, in bytes. The least is NIST SP
// 800-63B's for passwords that people choose; the most bounds the work.
const (
	minPassword = 8
	maxPassword = 256
)

// hashing lets two passwords be hashed at once: each takes 64 MiB.
var hashing = make(chan struct{}, 2)

// HashPassword gives the encoded form that is stored.
func HashPassword(ctx context.Context, password string) (string, error) {
	if err := checkPassword(password); err != nil {
		return "", err
	}
	salt := make([]byte, argonSaltLen)
	rand.Read(salt) // never fails: crypto/rand ends the program instead
	h := passwordCost
	h.salt = salt
	tag, err := h.compute(ctx, password, argonTagLen)
	if err != nil {
		return "", err
	}
	h.tag = tag
	return h.String(), nil
}

func checkPassword(password string) error {
	if len(password) < minPassword || len(password) > maxPassword {
		return lab.Errorf(lab.KindInvalid, "the password must have %[2]d to %[3]d bytes; got %[1]d", len(password), minPassword, maxPassword)
	}
	return nil
}

// verifyPassword tells whether password gives the encoded hash.
func verifyPassword(ctx context.Context, encoded, password string) (bool, error) {
	h, err := parseArgonHash(encoded)
	if err != nil {
		return false, err
	}
	if len(password) > maxPassword {
		return false, nil
	}
	tag, err := h.compute(ctx, password, uint32(len(h.tag)))
	if err != nil {
		return false, err
	}
	return subtle.ConstantTimeCompare(tag, h.tag) == 1, nil
}

// argonHash is one Argon2id hash in parts.
type argonHash struct {
	kib, passes uint32
	lanes       uint8
	salt, tag   []byte
}

func (h argonHash) compute(ctx context.Context, password string, n uint32) ([]byte, error) {
	select {
	case hashing <- struct{}{}:
		defer func() { <-hashing }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	return argon2.IDKey([]byte(password), h.salt, h.passes, h.kib, h.lanes, n), nil
}

// String writes the usual encoded form, unpadded base64 for salt and tag.
func (h argonHash) String() string {
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version,
		h.kib, h.passes, h.lanes, b64.EncodeToString(h.salt), b64.EncodeToString(h.tag))
}

func parseArgonHash(s string) (argonHash, error) {
	var h argonHash
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
