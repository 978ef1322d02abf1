// Package seal gives the records of wetside their form and their seal: what a
// record looks like byte for byte, the append-only log of their hashes, and
// the signed checkpoints of that log.
//
// A record is JSON Lines: Record for a run, SealedEntry for what a person
// entered. Its leaf is the hash of those bytes. The
// leaves are put into a Merkle tree, that of RFC 6962, by
// golang.org/x/mod/sumdb/tlog. Grow gives what a log must store for new
// leaves; a Checkpoint says how many leaves the log had and what its root was,
// and is signed with Ed25519 as golang.org/x/mod/sumdb/note does.
//
//	b, err := record.Encode()
//	grown, err := seal.Grow(size, read, []tlog.Hash{seal.LeafHash(b)})
//	text, err := seal.Checkpoint{Size: grown.Size, Root: grown.Root, At: now}.Sign(key)
//
// A seal proves that a record is unchanged since the checkpoint that covers
// it was signed, and that nothing before it was taken out. It does not prove
// that what was recorded is true, nor that it is complete: gaps in what was
// heard stand in the record. Whoever has the private key can make another
// log; a checkpoint kept where they cannot reach it shows that they did.
//
// Everything here is pure and safe for concurrent use, but a Record while it
// is changed.
package seal
