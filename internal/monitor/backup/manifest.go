package backup

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"wetside/internal/lab"
	"wetside/internal/postgres/dump"
)

// Names of the files of a backup.
const (
	manifestFile   = "manifest.json"
	databaseFile   = "database.dump"
	settingsFolder = "settings"
)

// form is the version of the manifest's form.
const form = 1

// Manifest is what a backup says of itself.
type Manifest struct {
	Form    int               `json:"form"`
	MadeAt  lab.Time          `json:"made_at"` // the moment that it holds
	MadeBy  string            `json:"made_by"` // the program
	Tables  int               `json:"tables"`  // that hold rows, partitions each
	Lab     dump.Facts        `json:"lab"`
	Files   map[string]string `json:"files"` // SHA-256 by name
	LeftOut []string          `json:"left_out"`
}

// leftOut says what a backup does not hold, in words for whoever opens it.
var leftOut = []string{
	"the sealing key: keep it elsewhere, once",
	"certificates and passwords that stand in files of their own",
	"what the broker has not handed over yet: units send it again",
}

// Read reads what a backup says of itself, and does not look at its files.
func Read(folder string) (m Manifest, err error) {
	b, err := os.ReadFile(filepath.Join(folder, manifestFile))
	if errors.Is(err, fs.ErrNotExist) {
		return m, lab.Errorf(lab.KindInvalid, "%s is no whole backup: it has no %s, which is written last", folder, manifestFile)
	}
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(b, &m); err != nil {
		return m, lab.Errorf(lab.KindInvalid, "%s does not read: %w", filepath.Join(folder, manifestFile), err)
	}
	if m.Form != form {
		return m, lab.Errorf(lab.KindInvalid, "the backup in %s is of form %d; this program reads form %d: restore it with %s", folder, m.Form, form, m.MadeBy)
	}
	if m.Files[databaseFile] == "" {
		return m, lab.Errorf(lab.KindInvalid, "the backup in %s names no %s", folder, databaseFile)
	}
	return m, nil
}

// Check reads a backup through: its manifest, and every file against its hash.
func Check(folder string) (m Manifest, err error) {
	if m, err = Read(folder); err != nil {
		return m, err
	}
	for name, want := range m.Files {
		if !filepath.IsLocal(name) {
			return m, lab.Errorf(lab.KindInvalid, "the backup in %s names the file %q, which lies outside of it", folder, name)
		}
		got, err := hashOf(filepath.Join(folder, name))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return m, lab.Errorf(lab.KindInvalid, "the backup in %s is not whole: %s is missing", folder, name)
		case err != nil:
			return m, err
		case got != want:
			return m, lab.Errorf(lab.KindInvalid, "the backup in %s is damaged: %s is not as it was written", folder, name)
		}
	}
	return m, nil
}

func hashOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("read %s: %w", path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
