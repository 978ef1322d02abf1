package private

import (
	"context"
	"errors"
	"os"
	"syscall"
	"time"
)

// Ways to lock a file. The lock falls with the process, however it ends.
const (
	shared    = syscall.LOCK_SH
	exclusive = syscall.LOCK_EX
)

const lockPoll = 50 * time.Millisecond

// lockFile waits for the lock; closing the file gives it back.
func lockFile(ctx context.Context, path string, how int) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	for {
		err := syscall.Flock(int(f.Fd()), how|syscall.LOCK_NB)
		if err == nil {
			return f, nil
		}
		if !errors.Is(err, syscall.EWOULDBLOCK) && !errors.Is(err, syscall.EINTR) {
			f.Close()
			return nil, &os.PathError{Op: "lock", Path: path, Err: err}
		}
		select {
		case <-ctx.Done():
			f.Close()
			return nil, ctx.Err()
		case <-time.After(lockPoll):
		}
	}
}

// onlyUser tells whether nobody else shares the lock on f, by taking it alone.
func onlyUser(f *os.File) bool {
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil
}
