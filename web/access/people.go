package access

import (
	"context"
	"crypto/rand"
	"regexp"
	"strings"

	"wetside/internal/lab"
	"wetside/web/access/internal/argon"
)

var personName = regexp.MustCompile(`^[\p{L}\p{N}][\p{L}\p{N} ._@-]{0,63}$`)

func checkName(name string) error {
	if !personName.MatchString(name) || strings.TrimSpace(name) != name {
		return lab.Errorf(lab.KindInvalid, "name %q must be 1 to 64 letters, digits, spaces, dots, _, @ or -, beginning with a letter or digit", name)
	}
	return nil
}

// CreateUser adds a person with a password.
func CreateUser(ctx context.Context, store Store, name, role, password string) error {
	if err := checkName(name); err != nil {
		return err
	}
	if err := checkRole(role); err != nil {
		return err
	}
	hash, err := newPassword(ctx, store, name, password)
	if err != nil {
		return err
	}
	return store.CreateUser(ctx, lab.User{Name: name, Role: role, PasswordHash: hash})
}

// demoName is who signs in to a demonstration.
const demoName = "demo"

// DemoPassword makes the user of a demonstration, a lead named "demo", with a
// fresh random password, which the caller prints.
func DemoPassword(ctx context.Context, store Store) (name, password string, err error) {
	password = strings.ToLower(rand.Text()[:16]) // 80 random bits
	hash, err := argon.Hash(ctx, password)
	if err != nil {
		return "", "", err
	}
	_, err = store.UserByName(ctx, demoName)
	switch {
	case err == nil:
		err = store.SetPassword(ctx, demoName, hash)
	case lab.KindOf(err) == lab.KindNotFound:
		err = store.CreateUser(ctx, lab.User{Name: demoName, Role: lab.RoleLead, PasswordHash: hash})
	}
	return demoName, password, err
}
