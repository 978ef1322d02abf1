package seal

import (
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// The encoded private key is PRIVATE+KEY+name+hash+base64 of a byte that says
// Ed25519 and the seed; see golang.org/x/mod/sumdb/note.
const (
	privateParts = 5
	algEd25519   = 1
)

// verifierOf derives the public key from the private one.
func verifierOf(private string) (string, error) {
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
