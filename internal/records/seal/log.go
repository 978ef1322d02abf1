package seal

import (
	"fmt"

	"golang.org/x/mod/sumdb/tlog"
)

// LeafHash is the hash of a record in the log.
func LeafHash(content []byte) tlog.Hash { return tlog.RecordHash(content) }

// Reader gives stored hashes of a log by their index, all or an error.
type Reader func(indexes []int64) ([]tlog.Hash, error)

// StoredHash is one hash that a log keeps.
type StoredHash struct {
	Index int64
	Hash  tlog.Hash
}

// Growth is what a log becomes with new leaves.
type Growth struct {
	Size int64        // leaves it then has
	Add  []StoredHash // hashes to store
	Root tlog.Hash
}

// Grow gives what a log of size leaves, whose stored hashes read gives, must
// store to take further leaves.
func Grow(size int64, read Reader, leaves []tlog.Hash) (g Growth, err error) {
	if len(leaves) == 0 {
		return g, fmt.Errorf("grow the log: no leaf is given")
	}
	next := tlog.StoredHashCount(size)
	fresh := map[int64]tlog.Hash{}
	both := tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) { return readOver(indexes, fresh, read) })
	for _, leaf := range leaves {
		hashes, err := tlog.StoredHashesForRecordHash(size, leaf, both)
		if err != nil {
			return Growth{}, fmt.Errorf("grow the log beyond leaf %d: %w", size, err)
		}
		for _, h := range hashes {
			fresh[next] = h
			g.Add = append(g.Add, StoredHash{next, h})
			next++
		}
		size++
	}
	g.Size = size
	if g.Root, err = tlog.TreeHash(size, both); err != nil {
		return Growth{}, fmt.Errorf("root of the log at %d leaves: %w", size, err)
	}
	return g, nil
}

// readOver looks into fresh first, and asks read for the rest.
func readOver(indexes []int64, fresh map[int64]tlog.Hash, read Reader) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	var ask []int64
	var at []int
	for i, index := range indexes {
		if h, ok := fresh[index]; ok {
			out[i] = h
			continue
		}
		ask, at = append(ask, index), append(at, i)
	}
	if len(ask) == 0 {
		return out, nil
	}
	got, err := read(ask)
	if err != nil {
		return nil, err
	}
	if len(got) != len(ask) {
		return nil, fmt.Errorf("%d of %d stored hashes are there", len(got), len(ask))
	}
	for i, h := range got {
		out[at[i]] = h
	}
	return out, nil
}

// Root is the root of a log's first size leaves. That of an empty log is the
// zero hash.
func Root(size int64, read Reader) (tlog.Hash, error) {
	return tlog.TreeHash(size, tlog.HashReaderFunc(read))
}

// MemoryLog is a log in memory that grows leaf by leaf, for checking one that is
// stored. The zero value is empty. It is not safe for concurrent use.
type MemoryLog struct {
	size   int64
	hashes []tlog.Hash
}

// Add appends a leaf and gives the hashes that a log stores for it.
func (m *MemoryLog) Add(leaf tlog.Hash) ([]StoredHash, error) {
	hashes, err := tlog.StoredHashesForRecordHash(m.size, leaf, tlog.HashReaderFunc(m.Read))
	if err != nil {
		return nil, err
	}
	out := make([]StoredHash, len(hashes))
	for i, h := range hashes {
		out[i] = StoredHash{int64(len(m.hashes) + i), h}
	}
	m.hashes = append(m.hashes, hashes...)
	m.size++
	return out, nil
}

// Size is how many leaves it has.
func (m *MemoryLog) Size() int64 { return m.size }

// Root is its root when it had size leaves.
func (m *MemoryLog) Root(size int64) (tlog.Hash, error) { return Root(size, m.Read) }

// Read is a Reader of its hashes.
func (m *MemoryLog) Read(indexes []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	for i, index := range indexes {
		if index < 0 || index >= int64(len(m.hashes)) {
			return nil, fmt.Errorf("the log has no stored hash %d", index)
		}
		out[i] = m.hashes[index]
	}
	return out, nil
}
