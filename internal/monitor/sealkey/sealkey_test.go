package sealkey_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wetside/internal/monitor/sealkey"
)

// The key is made once, for its owner only; what is kept then is the same key,
// and its verifier stands beside it for whoever is to check.
func TestMadeOnce(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	if _, err := sealkey.Kept(data); !errors.Is(err, fs.ErrNotExist) {
		t.Fatalf("a key that nobody made: %v", err)
	}
	first, err := sealkey.Ready(data)
	if err != nil {
		t.Fatal(err)
	}
	again, err := sealkey.Ready(data)
	if err != nil || again.Verifier() != first.Verifier() {
		t.Errorf("the second time %v, %v; want the first key", again, err)
	}
	for path, mode := range map[string]fs.FileMode{sealkey.KeyFile(data): 0o600, sealkey.Dir(data): 0o700} {
		if st, err := os.Stat(path); err != nil || st.Mode().Perm() != mode {
			t.Errorf("%s: %v, %v; want %v", path, st, err, mode)
		}
	}
	if b, err := os.ReadFile(sealkey.VerifierFile(data)); err != nil || strings.TrimSpace(string(b)) != first.Verifier() {
		t.Errorf("the verifier beside it: %q, %v", b, err)
	}
}

// A key in the environment comes first and is written nowhere; one that does
// not read is told, not passed over.
func TestKeyOfTheEnvironment(t *testing.T) {
	from, data := t.TempDir(), t.TempDir()
	made, err := sealkey.Ready(from)
	if err != nil {
		t.Fatal(err)
	}
	private, err := os.ReadFile(sealkey.KeyFile(from))
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv(sealkey.Env, strings.TrimSpace(string(private)))
	if key, err := sealkey.Ready(data); err != nil || key.Verifier() != made.Verifier() {
		t.Errorf("the key given: %v, %v", key, err)
	}
	if _, err := os.Stat(sealkey.Dir(data)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a key that was given is written down: %v", err)
	}
	t.Setenv(sealkey.Env, "no key at all")
	if _, err := sealkey.Ready(data); err == nil || !strings.Contains(err.Error(), sealkey.Env) {
		t.Errorf("a key that does not read: %v", err)
	}
}

// The witness gives back the last checkpoint that it was given, "" before.
func TestWitness(t *testing.T) {
	w := sealkey.WitnessOf(t.TempDir())
	if last, err := w.Last(); err != nil || last != "" {
		t.Errorf("at first %q, %v", last, err)
	}
	for _, checkpoint := range []string{"one\n", "two\n"} {
		if err := w.Keep(checkpoint); err != nil {
			t.Fatal(err)
		}
		if last, err := w.Last(); err != nil || last != checkpoint {
			t.Errorf("kept %q: %q, %v", checkpoint, last, err)
		}
	}
}
