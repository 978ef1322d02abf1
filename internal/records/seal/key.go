package seal

import (
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// The encoded private key is PRIVATE+KEY+name+hash+base64 of a byte that says
// Ed25519 and the seed; see golang.org/x/mod/sumdb/note.
const (
	privateParts = 5
	algEd25519   = 1
)

// publicKeyOf derives the public key from the private one.
func publicKeyOf(private string) (string, error) {
	parts := strings.SplitN(private, "+", privateParts)
	if len(parts) != privateParts {
		return "", errors.New("it has too few parts")
	}
	b, err := base64.StdEncoding.DecodeString(parts[4])
	if err != nil || len(b) != 1+ed25519.SeedSize || b[0] != algEd25519 {
		return "", errors.New("it is no Ed25519 seed")
	}
	public := ed25519.NewKeyFromSeed(b[1:]).Public().(ed25519.PublicKey)
	return note.NewEd25519VerifierKey(Origin, public)
}

// Key signs checkpoints.
type Key struct {
	signer   note.Signer
	verifier string
}

// NewKey makes a key. Private is to be kept secret; ParseKey reads it.
func NewKey(rand io.Reader) (private string, err error) {
	private, _, err = note.GenerateKey(rand, Origin)
	if err != nil {
		return "", fmt.Errorf("make a sealing key: %w", err)
	}
	return private, nil
}

// ParseKey reads a private key. Its errors never show it.
func ParseKey(private string) (*Key, error) {
	private = strings.TrimSpace(private)
	signer, err := note.NewSigner(private)
	if err != nil || signer.Name() != Origin {
		return nil, errors.New("not a sealing key; give a line that begins with PRIVATE+KEY+" + Origin)
	}
	verifier, err := publicKeyOf(private)
	if err != nil {
		return nil, errors.New("not a sealing key: " + err.Error())
	}
	return &Key{signer, verifier}, nil
}

// Verifier is the public key, by which others check what this one signed.
func (k *Key) Verifier() string { return k.verifier }

// ParseVerifier checks that a text is the verifier key of a record log.
func ParseVerifier(key string) (string, error) {
	key = strings.TrimSpace(key)
	v, err := note.NewVerifier(key)
	if err != nil || v.Name() != Origin {
		return "", fmt.Errorf("%q is not a verifier key; give %s+..., as wetside verify --show-key prints it", key, Origin)
	}
	return key, nil
}
