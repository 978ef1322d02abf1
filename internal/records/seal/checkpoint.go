package seal

import (
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"
)

// Origin names the log in its checkpoints and keys.
const Origin = "wetside-records"

// These begin the lines of a checkpoint behind its root.
const (
	afterPrefix = "after "
	atPrefix    = "at "
)

// Checkpoint says what the log was at a moment. Its text is: origin, number
// of leaves, root in base64, the size of the checkpoint before, time; a line
// each, signed as a note.
type Checkpoint struct {
	Size  int64
	Root  tlog.Hash
	After int64     // leaves at the checkpoint before, so that a missing one shows
	At    time.Time // when it was signed
}

func (c Checkpoint) text() string {
	return fmt.Sprintf("%s\n%d\n%s\n%s%d\n%s%s\n", Origin, c.Size, c.Root, afterPrefix, c.After, atPrefix, c.At.UTC().Format(time.RFC3339Nano))
}

// Sign gives the signed text.
func (c Checkpoint) Sign(key *Key) (string, error) {
	b, err := note.Sign(&note.Note{Text: c.text()}, key.signer)
	if err != nil {
		return "", fmt.Errorf("sign the checkpoint at %d leaves: %w", c.Size, err)
	}
	return string(b), nil
}

// ErrUnknownKey says that a checkpoint is not signed by any of the keys given.
var ErrUnknownKey = errors.New("it is not signed with a known key")

// OpenCheckpoint checks the signature of a checkpoint by the verifier keys
// given, and reads it.
func OpenCheckpoint(signed string, verifiers ...string) (Checkpoint, error) {
	known := make([]note.Verifier, 0, len(verifiers))
	seen := map[string]bool{}
	for _, key := range verifiers {
		if seen[key] {
			continue
		}
		seen[key] = true
		v, err := note.NewVerifier(key)
		if err != nil {
			return Checkpoint{}, fmt.Errorf("verifier key %q: %w", key, err)
		}
		known = append(known, v)
	}
	n, err := note.Open([]byte(signed), note.VerifierList(known...))
	if _, ok := errors.AsType[*note.UnverifiedNoteError](err); ok {
		return Checkpoint{}, fmt.Errorf("checkpoint: %w", ErrUnknownKey)
	}
	if err != nil {
		return Checkpoint{}, fmt.Errorf("checkpoint: %w", err)
	}
	c, err := parseCheckpoint(n.Text)
	if err != nil {
		return Checkpoint{}, err
	}
	// There is one text for one checkpoint. A second signature, another way to
	// write a number or a bit that base64 does not use could otherwise be changed
	// without anybody noticing.
	if len(n.Sigs) != 1 || signed != c.text()+signatureLine(n.Sigs[0]) {
		return Checkpoint{}, fmt.Errorf("checkpoint at %d leaves: it is not in the form in which it was signed", c.Size)
	}
	return c, nil
}

// signatureLine is the end of a signed note as note.Sign writes it.
func signatureLine(s note.Signature) string {
	b, _ := base64.StdEncoding.DecodeString(s.Base64) // note.Open has read it already
	return "\n— " + s.Name + " " + base64.StdEncoding.EncodeToString(b) + "\n"
}

func parseCheckpoint(text string) (c Checkpoint, err error) {
	lines := strings.Split(text, "\n")
	if len(lines) != 6 || lines[0] != Origin || !strings.HasPrefix(lines[3], afterPrefix) || !strings.HasPrefix(lines[4], atPrefix) {
		return c, fmt.Errorf("checkpoint must have the lines %q, number of leaves, root, size before and time", Origin)
	}
	if c.Size, err = strconv.ParseInt(lines[1], 10, 64); err != nil || c.Size < 0 {
		return c, fmt.Errorf("checkpoint: %q is no number of leaves", lines[1])
	}
	if c.Root, err = tlog.ParseHash(lines[2]); err != nil {
		return c, fmt.Errorf("checkpoint: %q is no root: %w", lines[2], err)
	}
	if c.After, err = strconv.ParseInt(strings.TrimPrefix(lines[3], afterPrefix), 10, 64); err != nil {
		return c, fmt.Errorf("checkpoint: %q is no size of the one before", lines[3])
	}
	if c.At, err = time.Parse(time.RFC3339Nano, strings.TrimPrefix(lines[4], atPrefix)); err != nil {
		return c, fmt.Errorf("checkpoint: %w", err)
	}
	return c, nil
}
