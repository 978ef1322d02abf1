package rules

import (
	"crypto/sha256"
	"encoding/base32"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Digest makes an id of what a thing is about, never of a serial number: live
// watching, replay and folding again give the same thing the same id.
func Digest(parts ...string) string {
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x1f")))
	return strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(sum[:15]))
}

// RunID is the id of a unit's run.
func RunID(u lab.UnitID, run string) string { return Digest("run", u.String(), run) }

func occurrenceID(key string, raised time.Time) string {
	return Digest("alert", key, lab.At(raised).String())
}
