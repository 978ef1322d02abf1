package backup

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres/dump"
)

// Config is what Make needs.
type Config struct {
	// Database is the URL of the database. Required.
	Database string
	// Folder is where backups lie, each in a folder named after its moment.
	// Required.
	Folder string
	// Settings are files and folders to keep beside the database. Defaults to
	// none.
	Settings []string
	// Keep is how many whole backups stay in Folder. Defaults to all.
	Keep int
	// Program names what makes it. Defaults to "wetside".
	Program string
	// Now tells the time. Defaults to time.Now.
	Now func() time.Time
	// Progress is told what is done. Defaults to nobody.
	Progress dump.Progress
}

// nameForm is the name of a backup's folder, by which they sort.
const (
	namePrefix = "wetside-"
	nameForm   = namePrefix + "2006-01-02T150405Z"
	partSuffix = ".part"
)

// Make makes a backup and gives its folder. One that fails leaves nothing
// behind but what was there.
func Make(ctx context.Context, cfg Config) (folder string, m Manifest, err error) {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if err := os.MkdirAll(cfg.Folder, 0o700); err != nil {
		return "", m, err
	}
	moment, err := dump.Open(ctx, cfg.Database)
	if err != nil {
		return "", m, err
	}
	defer moment.Close()
	at := cfg.Now().UTC()
	folder = filepath.Join(cfg.Folder, at.Format(nameForm))
	part := folder + partSuffix
	if _, err := os.Stat(folder); err == nil {
		return "", m, lab.Errorf(lab.KindConflict, "%s is there already", folder)
	}
	if err := os.Mkdir(part, 0o700); err != nil {
		return "", m, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(part))
		}
	}()
	m = Manifest{Form: form, MadeAt: lab.At(at), MadeBy: cmp.Or(cfg.Program, "wetside"), Files: map[string]string{}, LeftOut: leftOut}
	if m.Lab, err = moment.Facts(ctx, cfg.Progress); err != nil {
		return "", m, err
	}
	m.Tables, err = moment.Write(ctx, filepath.Join(part, databaseFile), cfg.Progress)
	if err != nil {
		return "", m, err
	}
	if err := copySettings(part, cfg.Settings); err != nil {
		return "", m, err
	}
	if err := finish(part, folder, &m); err != nil {
		return "", m, err
	}
	return folder, m, dropOld(cfg.Folder, cfg.Keep)
}

// finish hashes what was written, writes the manifest and gives the folder its
// name, all of it on disk.
func finish(part, folder string, m *Manifest) error {
	err := filepath.WalkDir(part, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(part, path)
		if err != nil {
			return err
		}
		if m.Files[filepath.ToSlash(name)], err = hashOf(path); err != nil {
			return err
		}
		return syncFile(path)
	})
	if err != nil {
		return err
	}
	b, err := json.MarshalIndent(m, "", "\t")
	if err != nil {
		return err
	}
	path := filepath.Join(part, manifestFile)
	if err := os.WriteFile(path, append(b, '\n'), 0o600); err != nil {
		return err
	}
	for _, p := range []string{path, part} {
		if err := syncFile(p); err != nil {
			return err
		}
	}
	if err := os.Rename(part, folder); err != nil {
		return err
	}
	return syncFile(filepath.Dir(folder))
}

func syncFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// copySettings copies files and folders under the names of their last part.
func copySettings(part string, list []string) error {
	for _, from := range list {
		to := filepath.Join(part, settingsFolder, filepath.Base(from))
		if err := copyTree(from, to); err != nil {
			return fmt.Errorf("settings %s: %w", from, err)
		}
	}
	return nil
}

func copyTree(from, to string) error {
	return filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		target := filepath.Join(to, name)
		switch {
		case d.IsDir():
			return os.MkdirAll(target, 0o700)
		case !d.Type().IsRegular():
			return nil // a socket or a device is no setting
		}
		if err := os.MkdirAll(filepath.Dir(target), 0o700); err != nil {
			return err
		}
		return copyFile(path, target)
	})
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// dropOld removes the oldest whole backups beyond keep. What is not one of ours
// is left alone.
func dropOld(folder string, keep int) error {
	if keep <= 0 {
		return nil
	}
	list, err := Backups(folder)
	if err != nil {
		return err
	}
	for _, name := range list[:max(0, len(list)-keep)] {
		if err := os.RemoveAll(filepath.Join(folder, name)); err != nil {
			return fmt.Errorf("remove an old backup: %w", err)
		}
	}
	return nil
}

// Backups lists the whole backups of a folder by name, the oldest first.
func Backups(folder string) ([]string, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, e := range entries {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), namePrefix) {
			continue
		}
		if _, err := time.Parse(nameForm, e.Name()); err != nil {
			continue
		}
		if _, err := os.Stat(filepath.Join(folder, e.Name(), manifestFile)); err == nil {
			out = append(out, e.Name())
		}
	}
	slices.Sort(out)
	return out, nil
}
