package broker

import (
	"context"
	"strings"
	"syscall"
	"time"
)

const (
	// engineLook is how often the engine is looked at.
	engineLook = time.Second
	// roomToStart is the room that the store must find to be taken up again:
	// some of its files.
	roomToStart = 32 << 20
)

// Failed is closed when the engine has given its store up because the disk
// under it was full, or broke, and there is room again: it takes nothing any
// more, and units keep what they send, until it is closed and started again.
func (b *Broker) Failed() <-chan struct{} { return b.failed }

// watchEngine notices that the engine gave its store up. After a write that
// found no room it refuses everything, and goes on to when there is room.
func (b *Broker) watchEngine(ctx context.Context) {
	tick := time.NewTicker(engineLook)
	defer tick.Stop()
	for told := false; ; {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if b.srv.JetStreamEnabled() && !b.broken.Load() {
			continue
		}
		if !told {
			b.cfg.Log.Error("the broker's store takes nothing any more: its disk is full or broke; units keep what they send")
			told = true
		}
		if hasRoom(b.cfg.DataDir) {
			close(b.failed)
			return
		}
	}
}

// storeBroke tells whether what the engine says means that its store failed.
func storeBroke(text string) bool {
	return strings.Contains(text, syscall.ENOSPC.Error()) || strings.Contains(text, syscall.EIO.Error())
}

// hasRoom tells whether the disk of a folder has room; one that cannot be
// asked may have.
func hasRoom(dir string) bool {
	var st syscall.Statfs_t
	return syscall.Statfs(dir, &st) != nil || uint64(st.Bavail)*uint64(st.Bsize) >= roomToStart
}
