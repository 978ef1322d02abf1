package access

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"
)

// Nobody can make wetside remember much, nor begin anew by guessing widely.
func TestLinkLimit(t *testing.T) {
	var l perMinute
	for range linksAnAddress {
		if !l.take(t0, "192.0.2.1", linksAnAddress) {
			t.Fatal("refused too early")
		}
	}
	if l.take(t0, "192.0.2.1", linksAnAddress) {
		t.Error("the limit does not hold")
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	long := strings.Repeat("x", 30_000)
	for i := range 200_000 {
		l.take(t0, fmt.Sprint("192.0.2.2", i%7, long[:i%100]), linksAnAddress)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 1<<20 {
		t.Errorf("%d bytes are remembered", grown)
	}
	if l.take(t0, "192.0.2.1", linksAnAddress) {
		t.Error("other addresses made the limit forget")
	}
	if !l.take(t0.Add(time.Minute), "192.0.2.1", linksAnAddress) {
		t.Error("a minute later still refused")
	}
}
