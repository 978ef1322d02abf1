package access

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	_ "embed" // the list
	"strings"
	"sync"
	"unicode"

	"wetside/internal/lab"
	"wetside/web/access/internal/argon"
)

// Lengths of a password that are accepted, in bytes. The least is NIST SP
// 800-63B's for passwords that people choose.
const (
	minPassword = 8
	maxPassword = argon.Longest
)

func checkPassword(password string) error {
	if len(password) < minPassword || len(password) > maxPassword {
		return lab.Errorf(lab.KindInvalid, "the password must have %[2]d to %[3]d bytes; got %[1]d", len(password), minPassword, maxPassword)
	}
	return nil
}

// The passwords that are guessed first; passwords/README.md says where the
// list is from.
//
//go:embed passwords/common.txt.gz
var commonPasswordsFile []byte

var commonPasswords = sync.OnceValues(func() (map[string]struct{}, error) {
	z, err := gzip.NewReader(bytes.NewReader(commonPasswordsFile))
	if err != nil {
		return nil, err
	}
	words := make(map[string]struct{}, 50_000)
	lines := bufio.NewScanner(z)
	for lines.Scan() {
		words[lines.Text()] = struct{}{}
	}
	return words, lines.Err()
})

// guessable refuses passwords that are tried first: those of the list, the
// person's and the lab's own names, and one of these dressed up with digits
// and signs at its ends. NIST SP 800-63B, section 5.1.1.2, asks for such a
// comparison in place of rules about which characters to use.
func guessable(password string, names []string) error {
	words, err := commonPasswords()
	if err != nil {
		return err
	}
	lower := strings.ToLower(password)
	core := strings.TrimFunc(lower, func(r rune) bool { return !unicode.IsLetter(r) })
	if len([]rune(core)) < 3 && len(password) < 16 {
		return lab.Errorf(lab.KindInvalid, "the password is little but digits and signs, which are guessed quickly; take a few words that do not belong together")
	}
	if strings.Trim(lower, lower[:1]) == "" {
		return lab.Errorf(lab.KindInvalid, "the password is one character again and again; take a few words that do not belong together")
	}
	for _, w := range []string{lower, core} {
		if _, listed := words[w]; listed {
			return lab.Errorf(lab.KindInvalid, "the password is one of those that are guessed first, or little more; take a few words that do not belong together")
		}
	}
	bare := letters(lower)
	for _, n := range append(names, "wetside") {
		if n := letters(strings.ToLower(n)); len(n) >= 3 && (bare == n || bare == n+n) {
			return lab.Errorf(lab.KindInvalid, "the password is a name of this lab, or little more; take a few words that do not belong together")
		}
	}
	return nil
}

func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) {
			return r
		}
		return -1
	}, s)
}

// unitNamer is a store that knows the units, and so the lab's names.
type unitNamer interface {
	UnitSettings(ctx context.Context) (map[string]lab.UnitSetting, error)
}

// newPassword gives the hash of a password that name shall have.
func newPassword(ctx context.Context, store Store, name, password string) (string, error) {
	if err := checkPassword(password); err != nil {
		return "", err
	}
	names := []string{name}
	if namer, ok := store.(unitNamer); ok {
		units, err := namer.UnitSettings(ctx)
		if err != nil {
			return "", err
		}
		for id, u := range units {
			of, unit, _ := strings.Cut(id, "/")
			names = append(names, of, unit, u.Name)
		}
	}
	if err := guessable(password, names); err != nil {
		return "", err
	}
	return argon.Hash(ctx, password)
}

// SetPassword gives a person a new password, which ends their sign-ins.
func SetPassword(ctx context.Context, store Store, name, password string) error {
	hash, err := newPassword(ctx, store, name, password)
	if err != nil {
		return err
	}
	return store.SetPassword(ctx, name, hash)
}
