//go:build race

package rules

// The race detector makes the fold some ten times slower: what walks long
// streams under it walks shorter ones.
func init() { streamShare = 4 }
