package main

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

// sealDir is the folder of the sealing key and the last checkpoint: outside
// the database, so that whoever changes that has not the key as well.
func sealDir(data string) string { return filepath.Join(data, "seal") }

const (
	sealKeyEnv      = "WETSIDE_SEAL_KEY"
	sealKeyFile     = "key"
	verifierFile    = "verifier"
	checkpointFile  = "checkpoint"
	onlyOwner       = 0o600
	onlyOwnerFolder = 0o700
)

// sealingKey gives the key from the environment, else the one under data,
// which is made where there is none.
func sealingKey(data string) (*seal.Key, error) {
	if private := os.Getenv(sealKeyEnv); private != "" {
		key, err := seal.ParseKey(private)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", sealKeyEnv, err)
		}
		return key, nil
	}
	key, err := keptKey(data)
	if !errors.Is(err, fs.ErrNotExist) {
		return key, err
	}
	private, err := seal.NewKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(sealDir(data), onlyOwnerFolder); err != nil {
		return nil, fmt.Errorf("the sealing key: %w", err)
	}
	if err := writeWhole(filepath.Join(sealDir(data), sealKeyFile), private+"\n"); err != nil {
		return nil, fmt.Errorf("the sealing key: %w", err)
	}
	if key, err = keptKey(data); err != nil {
		return nil, err
	}
	return key, writeWhole(filepath.Join(sealDir(data), verifierFile), key.Verifier()+"\n")
}

// keptKey reads the key under data; fs.ErrNotExist where there is none.
func keptKey(data string) (*seal.Key, error) {
	path := filepath.Join(sealDir(data), sealKeyFile)
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

// witness keeps the last checkpoint beside the key. It implements
// records.Witness.
type witness struct{ dir string }

// Last gives the checkpoint kept, "" where there is none.
func (w witness) Last() (string, error) {
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
func (w witness) Keep(checkpoint string) error {
	if err := os.MkdirAll(w.dir, onlyOwnerFolder); err != nil {
		return err
	}
	return writeWhole(filepath.Join(w.dir, checkpointFile), checkpoint)
}

// verifierKey gives the verifier key that a command was given: as it is, or
// as a file that holds it.
func verifierKey(given string) (string, error) {
	if strings.HasPrefix(given, seal.Origin+"+") {
		return seal.ParseVerifier(given)
	}
	b, err := os.ReadFile(given)
	if err != nil {
		return "", fmt.Errorf("--key: %q is neither a verifier key (%s+...) nor a file that holds one", given, seal.Origin)
	}
	return seal.ParseVerifier(string(b))
}
