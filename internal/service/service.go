// Package service is what parts of a program that run for long have in common.
//
// A Runner makes a part out of one function that runs until its context ends;
// whoever calls Stop or reads Done waits for its goroutine, so that none is
// left behind. Pause waits between two tries, and Positive gives how long
// where a configuration leaves it open.
//
// Everything here is safe for concurrent use.
package service

import (
	"context"
	"time"
)

// Pause waits for d and tells whether ctx is still alive.
func Pause(ctx context.Context, d time.Duration) bool {
	if d <= 0 {
		return ctx.Err() == nil
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}

// Positive gives d, or otherwise where d says nothing.
func Positive(d, otherwise time.Duration) time.Duration {
	if d > 0 {
		return d
	}
	return otherwise
}
