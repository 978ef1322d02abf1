package argon

import (
	"context"
	"strings"
	"testing"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// The encoded hash of "password" with the salt "somesalt" (m=65536, t=2, p=1)
// is a test vector of the reference implementation of Argon2, src/test.c; its
// figures are from memory.
func TestPasswordAgainstReference(t *testing.T) {
	const reference = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	for password, want := range map[string]bool{"password": true, "Password": false, "": false} {
		if ok, err := Verify(t.Context(), reference, password); err != nil || ok != want {
			t.Errorf("%q: %v %v, want %v", password, ok, err, want)
		}
	}
	h, err := parse(reference)
	if err != nil || h.String() != reference {
		t.Errorf("written again: %s %v", h, err)
	}
}

func TestPasswordHash(t *testing.T) {
	a, err := Hash(t.Context(), "correct horse")
	if err != nil || !strings.HasPrefix(a, "$argon2id$v=19$m=65536,t=3,p=4$") {
		t.Fatalf("%s %v", a, err)
	}
	if b, _ := Hash(t.Context(), "correct horse"); a == b {
		t.Error("two hashes of one password are the same: no salt")
	}
	for _, bad := range []string{"", "x", "$argon2i$v=19$m=65536,t=2,p=1$c29tc2FsdA$CTFh", "$argon2id$v=19$m=0,t=0,p=0$c29tc2FsdA$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"} {
		if _, err := Verify(t.Context(), bad, "password"); err == nil {
			t.Errorf("stored %q is taken for a hash", bad)
		}
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for range cap(working) {
		working <- struct{}{}
	}
	if _, err := Hash(gone, "correct horse"); err == nil {
		t.Error("a request that went away still waits to be hashed")
	}
	for range cap(working) {
		<-working
	}
}
