//go:build race

package timeline_test

// The race detector makes the fold some ten times slower: what walks long
// streams under it walks shorter ones.
func init() { streamShare = 4 }
