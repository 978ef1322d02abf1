package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
	"time"

	"wetside/internal/lab"
)

// When the room on a disk is told, and when it is paged; each ends somewhat
// above where it began, so that a file that comes and goes makes no noise. A
// disk with plenty of room in gigabytes is not short, whatever its size.
const (
	roomTold, roomToldEnds   = 0.10, 0.12
	roomPaged, roomPagedEnds = 0.05, 0.06
	roomPlenty               = 100 << 30
	roomEvery                = 5 * time.Second // how often it is looked at
)

// room is the space of a file system: what is free for us, and all of it.
type room struct{ free, total uint64 }

func (r room) part() float64 {
	if r.total == 0 {
		return 1
	}
	return float64(r.free) / float64(r.total)
}

// diskWatch follows the free space where the service keeps things. Safe for
// concurrent use.
type diskWatch struct {
	folders []diskFolder
	stat    func(path string) (room, error) // tests bring their own

	mu     sync.Mutex
	looked time.Time
	short  map[string]*shortage // by folder
}

// diskFolder is a folder and what lies in it, in words.
type diskFolder struct{ path, what string }

// shortage is a disk that is nearly full.
type shortage struct {
	since   time.Time
	pressed bool // so full that people are called
	room    room
}

// newDiskWatch watches what the service keeps under its data folder. What an
// outside database has left is its own server's to tell: it refuses writes
// when it is full, which shows as the rules standing still.
func newDiskWatch(cfg programConfig) *diskWatch {
	d := &diskWatch{stat: freeRoom, short: map[string]*shortage{}}
	if cfg.Database == embedded {
		d.folders = append(d.folders, diskFolder{postgresDir(cfg.Data), "the database"})
	}
	if cfg.Broker == embedded {
		d.folders = append(d.folders, diskFolder{brokerDir(cfg.Data), "the broker's store"})
	}
	d.folders = append(d.folders, diskFolder{sealDir(cfg.Data), "the sealing key and checkpoints"})
	return d
}

// freeRoom asks the file system of a folder, or of the next one above it that
// is there.
func freeRoom(path string) (room, error) {
	for {
		var st syscall.Statfs_t
		err := syscall.Statfs(path, &st)
		if os.IsNotExist(err) && path != filepath.Dir(path) {
			path = filepath.Dir(path)
			continue
		}
		if err != nil {
			return room{}, &os.PathError{Op: "statfs", Path: path, Err: err}
		}
		size := uint64(st.Bsize)
		return room{uint64(st.Bavail) * size, uint64(st.Blocks) * size}, nil
	}
}

// faults lists the disks that are nearly full, by the first folder on each.
func (d *diskWatch) faults(now time.Time, clock func(time.Time) string) []lab.DutyFault {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.looked.IsZero() || now.Sub(d.looked).Abs() >= roomEvery {
		d.looked = now
		d.look(now)
	}
	var out []lab.DutyFault
	var told []room
	for _, f := range d.folders {
		s := d.short[f.path]
		if s == nil || slices.Contains(told, s.room) {
			continue // the same disk, to the byte
		}
		told = append(told, s.room)
		out = append(out, s.fault(f, clock))
	}
	return out
}

func (d *diskWatch) look(now time.Time) {
	for _, f := range d.folders {
		r, err := d.stat(f.path)
		if err != nil {
			continue // a folder that cannot be looked at says nothing of its disk
		}
		s := d.short[f.path]
		tell, press := roomTold, roomPaged
		if s != nil {
			tell = roomToldEnds
			if s.pressed {
				press = roomPagedEnds
			}
		}
		if r.free >= roomPlenty || r.part() >= tell {
			delete(d.short, f.path)
			continue
		}
		if s == nil {
			s = &shortage{since: now}
			d.short[f.path] = s
		}
		s.room, s.pressed = r, r.part() < press
	}
}

func (s *shortage) fault(f diskFolder, clock func(time.Time) string) lab.DutyFault {
	fault := lab.DutyFault{Code: lab.FaultDisk, Subject: f.path, Since: lab.AtPtr(s.since),
		Text: fmt.Sprintf("The disk of %s is nearly full: %s free (%.0f %%), short of room since %s",
			f.what, bytesWords(s.room.free), 100*s.room.part(), clock(s.since)),
		Consequence: "When it is full nothing more is stored and no alert is raised. Units keep what they send for as long as they can.",
		Response:    "Make room on the disk of " + f.path + ", or give it a larger one. Wetside goes on by itself when there is room again.",
	}
	if s.pressed {
		fault.PageAfter = atOnce
	}
	return fault
}

// bytesWords gives an amount of bytes in a unit that suits it.
func bytesWords(n uint64) string {
	switch {
	case n >= 1<<30:
		return fmt.Sprintf("%.1f GB", float64(n)/(1<<30))
	case n >= 1<<20:
		return fmt.Sprintf("%.0f MB", float64(n)/(1<<20))
	}
	return fmt.Sprintf("%.0f kB", float64(n)/(1<<10))
}
