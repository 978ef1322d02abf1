package seal

import (
	"encoding/hex"
	"slices"
	"testing"

	"golang.org/x/mod/sumdb/tlog"
)

// The published example tree of RFC 6962: eight leaves, the roots of its first
// 1 to 8 leaves, and proofs over it, as the reference implementation of
// certificate transparency carries them. RFC 9162, section 2.1, defines the
// same hashes and proofs.
var (
	publishedLeaves = []string{"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"}
	publishedRoots  = []string{
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
	publishedInclusion = []struct {
		leaf, size int64
		proof      []string
	}{
		{0, 1, nil},
		{0, 2, []string{"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"}},
		{1, 2, []string{"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"}},
		{2, 3, []string{"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"}},
		{1, 5, []string{
			"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
		{0, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
		{5, 8, []string{
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
	}
	publishedConsistency = []struct {
		from, to int64
		proof    []string
	}{
		{1, 1, nil},
		{1, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
		{2, 5, []string{
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
		{6, 8, []string{
			"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
	}
)

// publishedLog is a log of ours that holds the published leaves.
func publishedLog(t *testing.T) (*MemoryLog, []tlog.Hash) {
	t.Helper()
	var m MemoryLog
	var leaves []tlog.Hash
	for _, s := range publishedLeaves {
		b, err := hex.DecodeString(s)
		if err != nil {
			t.Fatal(err)
		}
		leaves = append(leaves, LeafHash(b))
		if _, err := m.Add(leaves[len(leaves)-1]); err != nil {
			t.Fatal(err)
		}
	}
	return &m, leaves
}

func hashOf(t *testing.T, s string) (h tlog.Hash) {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil || copy(h[:], b) != len(h) {
		t.Fatalf("%q is no hash", s)
	}
	return h
}

func hashesOf(t *testing.T, list []string) (out []tlog.Hash) {
	for _, s := range list {
		out = append(out, hashOf(t, s))
	}
	return out
}

// Our log has the published roots at every size, and grown in one go too.
func TestPublishedRoots(t *testing.T) {
	m, leaves := publishedLog(t)
	for i, want := range publishedRoots {
		got, err := m.Root(int64(i + 1))
		if err != nil || got != hashOf(t, want) {
			t.Errorf("root of %d leaves %x, %v; published %s", i+1, got[:], err, want)
		}
		g, err := Grow(0, func([]int64) ([]tlog.Hash, error) { return nil, nil }, leaves[:i+1])
		if err != nil || g.Root != got {
			t.Errorf("grown to %d leaves at once: %x, %v", i+1, g.Root[:], err)
		}
	}
}

// Our log gives the published proofs, and they hold; with one bit changed, of
// the proof or of what it proves, they do not.
func TestPublishedProofs(t *testing.T) {
	m, leaves := publishedLog(t)
	read := tlog.HashReaderFunc(m.Read)
	for _, x := range publishedInclusion {
		want := hashesOf(t, x.proof)
		got, err := tlog.ProveRecord(x.size, x.leaf, read)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("leaf %d of %d: proof %v, %v; published %v", x.leaf, x.size, got, err, want)
		}
		root := hashOf(t, publishedRoots[x.size-1])
		if err := tlog.CheckRecord(want, x.size, root, x.leaf, leaves[x.leaf]); err != nil {
			t.Errorf("leaf %d of %d: the published proof does not hold: %v", x.leaf, x.size, err)
		}
		for i := range want {
			bad := slices.Clone(want)
			bad[i][0] ^= 1
			if tlog.CheckRecord(bad, x.size, root, x.leaf, leaves[x.leaf]) == nil {
				t.Errorf("leaf %d of %d: hash %d of the proof changed, and it holds", x.leaf, x.size, i)
			}
		}
		if tlog.CheckRecord(want, x.size, root, x.leaf, LeafHash([]byte("another"))) == nil {
			t.Errorf("leaf %d of %d: another record is proved too", x.leaf, x.size)
		}
	}
	for _, x := range publishedConsistency {
		want := hashesOf(t, x.proof)
		got, err := tlog.ProveTree(x.to, x.from, read)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%d to %d leaves: proof %v, %v; published %v", x.from, x.to, got, err, want)
		}
		older, newer := hashOf(t, publishedRoots[x.from-1]), hashOf(t, publishedRoots[x.to-1])
		if err := tlog.CheckTree(want, x.to, newer, x.from, older); err != nil {
			t.Errorf("%d to %d leaves: the published proof does not hold: %v", x.from, x.to, err)
		}
		older[5] ^= 1
		if tlog.CheckTree(want, x.to, newer, x.from, older) == nil {
			t.Errorf("%d to %d leaves: another beginning is proved too", x.from, x.to)
		}
	}
}
