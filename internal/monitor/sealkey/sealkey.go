// Package sealkey keeps the key that seals records, and beside it the last
// checkpoint that was signed: in a folder outside the database, so that
// whoever changes the database has not the key as well.
//
//	key, err := sealkey.Ready(data) // made where there is none
//	key, err := sealkey.Kept(data)  // only read
//
// Nothing here is safe against two programs that make a key at once; the
// lease of the lab sees to it that only one serves.
package sealkey

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"wetside/internal/records/seal"
)

// Dir is the folder of key and checkpoint under the data folder.
func Dir(data string) string { return filepath.Join(data, "seal") }

// KeyFile is the file of the key, for its owner only; VerifierFile that of its
// public half, for whoever is to check.
func KeyFile(data string) string      { return filepath.Join(Dir(data), "key") }
func VerifierFile(data string) string { return filepath.Join(Dir(data), "verifier") }

// Env is the environment variable that may hold the key itself.
const Env = "WETSIDE_SEAL_KEY"

const (
	checkpointFile  = "checkpoint"
	onlyOwner       = 0o600
	onlyOwnerFolder = 0o700
)

// Ready gives the key from the environment, else the one under data,
// which is made where there is none.
func Ready(data string) (*seal.Key, error) {
	if key, err := Given(); key != nil || err != nil {
		return key, err
	}
	key, err := Kept(data)
	if !errors.Is(err, fs.ErrNotExist) {
		return key, err
	}
	private, err := seal.NewKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(Dir(data), onlyOwnerFolder); err != nil {
		return nil, fmt.Errorf("the sealing key: %w", err)
	}
	if err := writeWhole(KeyFile(data), private+"\n"); err != nil {
		return nil, fmt.Errorf("the sealing key: %w", err)
	}
	if key, err = Kept(data); err != nil {
		return nil, err
	}
	return key, writeWhole(VerifierFile(data), key.Verifier()+"\n")
}

// MayPut tells why a key that was kept elsewhere may not be put under data: it
// is none, or there is another.
func MayPut(data, private string) error {
	key, err := seal.ParseKey(private)
	if err != nil {
		return err
	}
	there, err := Kept(data)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case there.Verifier() != key.Verifier():
		return fmt.Errorf("there is another key in %s", KeyFile(data))
	}
	return nil
}

// Put puts a key under data that was kept elsewhere.
func Put(data, private string) error {
	if err := MayPut(data, private); err != nil {
		return err
	}
	key, err := seal.ParseKey(private)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(Dir(data), onlyOwnerFolder); err != nil {
		return err
	}
	return errors.Join(writeWhole(KeyFile(data), strings.TrimSpace(private)+"\n"), writeWhole(VerifierFile(data), key.Verifier()+"\n"))
}

// Given is the key in the environment, nil where there is none.
func Given() (*seal.Key, error) {
	private := os.Getenv(Env)
	if private == "" {
		return nil, nil
	}
	key, err := seal.ParseKey(private)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", Env, err)
	}
	return key, nil
}

// Kept reads the key under data; fs.ErrNotExist where there is none.
func Kept(data string) (*seal.Key, error) {
	path := KeyFile(data)
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("the sealing key: %w", err)
	}
	key, err := seal.ParseKey(string(b))
	if err != nil {
		return nil, fmt.Errorf("the sealing key %s: %w", path, err)
	}
	return key, nil
}

// writeWhole puts a file in its place all at once.
func writeWhole(path, text string) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".new-*") // 0600
	if err != nil {
		return err
	}
	_, err = tmp.WriteString(text)
	err = errors.Join(err, tmp.Sync(), tmp.Close())
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		os.Remove(tmp.Name())
	}
	return err
}

// Witness keeps the last checkpoint beside the key. It implements
// records.Witness.
type Witness struct{ dir string }

// WitnessOf is the one under a data folder.
func WitnessOf(data string) Witness { return Witness{Dir(data)} }

// Last gives the checkpoint kept, "" where there is none.
func (w Witness) Last() (string, error) {
	b, err := os.ReadFile(filepath.Join(w.dir, checkpointFile))
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("the checkpoint beside the sealing key: %w", err)
	}
	return string(b), nil
}

// Keep puts a checkpoint in the place of the one before.
func (w Witness) Keep(checkpoint string) error {
	if err := os.MkdirAll(w.dir, onlyOwnerFolder); err != nil {
		return err
	}
	return writeWhole(filepath.Join(w.dir, checkpointFile), checkpoint)
}
