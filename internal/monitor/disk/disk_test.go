package disk

import (
	"errors"
	"testing"
	"time"

	"wetside/internal/lab"
)

// A disk is told at 10 % free and paged at 5 %, each ends a little above, and
// a large disk with plenty of room is never short.
func TestDiskShort(t *testing.T) {
	const gb = 1 << 30
	at := time.Date(2026, 5, 4, 14, 2, 0, 0, time.UTC)
	now := room{50 * gb, 100 * gb}
	var broken error
	d := NewWatch(Folder{"/data/postgres", "the database"}, Folder{"/data/broker", "the broker's store"}, Folder{"/data/seal", "the sealing key and checkpoints"})
	d.stat = func(string) (room, error) { return now, broken }
	for _, c := range []struct {
		percent     uint64
		told, paged bool
	}{
		{50, false, false}, {10, false, false}, {9, true, false}, {11, true, false}, {5, true, false}, {4, true, true},
		{5, true, true}, {6, true, false}, {5, true, false}, {1, true, true}, {0, true, true}, {12, false, false}, {11, false, false},
	} {
		at = at.Add(time.Minute)
		now.free = c.percent * gb
		got := d.Faults(at, func(at time.Time) string { return at.Format("15:04") })
		if (len(got) == 1) != c.told || len(got) > 1 {
			t.Fatalf("%d %% free: %d faults %+v", c.percent, len(got), got)
		}
		if c.told && (got[0].Code != lab.FaultDisk || (got[0].PageAfter > 0) != c.paged) {
			t.Errorf("%d %% free: %+v; want paged: %v", c.percent, got[0], c.paged)
		}
	}
	now = room{4 * gb, 100 * gb}
	got := d.Faults(at.Add(time.Hour), func(at time.Time) string { return at.Format("15:04") })
	if want := "The disk of the database is nearly full: 4.0 GB free (4 %), short of room since 15:15"; len(got) != 1 || got[0].Text != want {
		t.Errorf("it says %+v; want %q", got, want)
	}
	broken = errors.New("no such device")
	if again := d.Faults(at.Add(2*time.Hour), func(time.Time) string { return "" }); len(again) != 1 {
		t.Error("a disk that cannot be looked at is no longer short")
	}
	broken, now = nil, room{150 * gb, 4000 * gb}
	if again := d.Faults(at.Add(3*time.Hour), func(time.Time) string { return "" }); len(again) != 0 {
		t.Errorf("150 GB are short: %+v", again)
	}
}

// The real file system answers, also for a folder that is not made yet.
func TestFreeRoom(t *testing.T) {
	r, err := freeRoom(t.TempDir() + "/not/made/yet")
	if err != nil || r.total == 0 || r.free > r.total {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := freeRoom("/dev/null/x"); err == nil {
		t.Error("a path below a file has room")
	}
}
