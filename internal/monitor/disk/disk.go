// Package disk follows the free space of the disks that the monitor keeps
// things on, and says in time when one is nearly full.
//
//	w := disk.NewWatch(disk.Folder{Path: "/data/postgres", What: "the database"})
//	faults := w.Faults(now, clock)
//
// A Watch is safe for concurrent use. It looks at the disks when it is asked,
// at most every five seconds.
package disk

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
	pagedAfter               = time.Second     // at once
)

// room is the space of a file system: what is free for us, and all of it.
type room struct{ free, total uint64 }

func (r room) part() float64 {
	if r.total == 0 {
		return 1
	}
	return float64(r.free) / float64(r.total)
}

// Watch follows the free space of some folders. Safe for concurrent use.
type Watch struct {
	folders []Folder
	stat    func(path string) (room, error) // tests bring their own

	mu     sync.Mutex
	looked time.Time
	short  map[string]*shortage // by folder
}

// Folder is a folder and what lies in it, in words.
type Folder struct{ Path, What string }

// shortage is a disk that is nearly full.
type shortage struct {
	since   time.Time
	pressed bool // so full that people are called
	room    room
}

// NewWatch watches the disks of folders, which need not be there yet. Where
// more than one is on the same disk, it is told by the first.
func NewWatch(folders ...Folder) *Watch {
	return &Watch{folders: folders, stat: freeRoom, short: map[string]*shortage{}}
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

// Room asks how much of the disk of a folder is free.
func Room(path string) (free, size uint64, err error) {
	r, err := freeRoom(path)
	return r.free, r.total, err
}

// Faults lists the disks that are nearly full, by the first folder on each.
// Clock gives a time of day by the clock on the lab's wall.
func (w *Watch) Faults(now time.Time, clock func(time.Time) string) []lab.DutyFault {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.looked.IsZero() || now.Sub(w.looked).Abs() >= roomEvery {
		w.looked = now
		w.look(now)
	}
	var out []lab.DutyFault
	var told []room
	for _, f := range w.folders {
		s := w.short[f.Path]
		if s == nil || slices.Contains(told, s.room) {
			continue // the same disk, to the byte
		}
		told = append(told, s.room)
		out = append(out, s.fault(f, clock))
	}
	return out
}

func (w *Watch) look(now time.Time) {
	for _, f := range w.folders {
		r, err := w.stat(f.Path)
		if err != nil {
			continue // a folder that cannot be looked at says nothing of its disk
		}
		s := w.short[f.Path]
		tell, press := roomTold, roomPaged
		if s != nil {
			tell = roomToldEnds
			if s.pressed {
				press = roomPagedEnds
			}
		}
		if r.free >= roomPlenty || r.part() >= tell {
			delete(w.short, f.Path)
			continue
		}
		if s == nil {
			s = &shortage{since: now}
			w.short[f.Path] = s
		}
		s.room, s.pressed = r, r.part() < press
	}
}

func (s *shortage) fault(f Folder, clock func(time.Time) string) lab.DutyFault {
	fault := lab.DutyFault{Code: lab.FaultDisk, Subject: f.Path, Since: lab.AtPtr(s.since),
		Text: fmt.Sprintf("The disk of %s is nearly full: %s free (%.0f %%), short of room since %s",
			f.What, bytesWords(s.room.free), 100*s.room.part(), clock(s.since)),
		Consequence: "When it is full nothing more is stored and no alert is raised. Units keep what they send for as long as they can.",
		Response:    "Make room on the disk of " + f.Path + ", or give it a larger one. Wetside goes on by itself when there is room again.",
	}
	if s.pressed {
		fault.PageAfter = pagedAfter
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
