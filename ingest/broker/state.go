package broker

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"wetside/internal/lab"
)

const (
	stateFile = "broker.json"
	lockFile  = "lock"
)

// state is what the data folder keeps besides messages, for this user's eyes
// only.
type state struct {
	ClientID   string `json:"client_id"`
	ProgramKey string `json:"program_key"`
	URL        string `json:"url"` // where the broker listened last
}

// Find gives the address and credential by which a program of the lab reaches
// the broker that runs, or ran last, on dataDir.
func Find(dataDir string) (string, error) {
	b, err := os.ReadFile(filepath.Join(dataDir, stateFile))
	if errors.Is(err, fs.ErrNotExist) {
		return "", lab.Errorf(lab.KindNotFound, "no embedded broker has run on %s; give the data folder of a wetside, or a broker's address", dataDir)
	}
	if err != nil {
		return "", err
	}
	var st state
	if err := json.Unmarshal(b, &st); err != nil {
		return "", fmt.Errorf("%s: %w", filepath.Join(dataDir, stateFile), err)
	}
	u, err := url.Parse(st.URL)
	if err != nil || st.URL == "" {
		return "", lab.Errorf(lab.KindNotFound, "the embedded broker on %s has never come up", dataDir)
	}
	u.User = url.UserPassword(programUser, st.ProgramKey)
	return u.String(), nil
}

func loadState(dir string) (state, error) {
	path := filepath.Join(dir, stateFile)
	b, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		st := state{ClientID: "wetside-" + strings.ToLower(rand.Text()[:12]), ProgramKey: rand.Text()}
		return st, st.save(dir)
	}
	if err != nil {
		return state{}, err
	}
	var st state
	if err := json.Unmarshal(b, &st); err != nil || st.ClientID == "" || st.ProgramKey == "" {
		return state{}, lab.Errorf(lab.KindInvalid, "%s is damaged; put back a copy, or remove the folder to begin anew (what waits in it is lost)", path)
	}
	return st, nil
}

// save replaces the file whole, so that kill -9 leaves the old or the new one.
func (st state) save(dir string) error {
	b, err := json.MarshalIndent(st, "", "  ")
	if err != nil {
		return err
	}
	path := filepath.Join(dir, stateFile)
	f, err := os.OpenFile(path+".new", os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(append(b, '\n'))
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(path+".new", path)
}

// lockFolder makes the folder and takes it for this process; the system lets
// go of it when the process dies.
func lockFolder(dir string) (unlock func(), err error) {
	if err := folder(dir); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(filepath.Join(dir, lockFile), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		return nil, lab.Errorf(lab.KindConflict, "another broker runs on %s; stop it first, or give another data folder", dir)
	}
	return func() { f.Close() }, nil
}
