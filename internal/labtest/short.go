package labtest

import "testing"

// Few gives the rows of a table, in a short run (go test -short) the first n.
// It is for what takes seconds a row: under the race detector, and while
// working, a few rows stand for all. A full run tries each.
func Few[T any](rows []T, n int) []T {
	if testing.Short() {
		return rows[:min(n, len(rows))]
	}
	return rows
}

// Fewer gives full, or in a short run short: how many, or how long.
func Fewer[T any](full, short T) T {
	if testing.Short() {
		return short
	}
	return full
}
