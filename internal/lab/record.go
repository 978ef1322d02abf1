package lab

import "time"

// RunRow is a run as it is stored: what people said of it is laid over what
// the fold says.
type RunRow struct {
	Run
	Loaded     []Roll // the rolls that the fold says were loaded
	FoldedKind string // the kind of run as the fold says
	Imported   bool   // known from imported history only
}

// RecordDue is a run that waits for its sealed record.
type RecordDue struct {
	RunID   string
	Changes int64 // of the run so far: what changes meanwhile waits on
	// Before is the fold's state before the run, kept as long as the fold had it.
	BeforeVersion int
	BeforeState   []byte
	Failures      int // how often its record could not be made
}

// RecordFailing is a run whose record could not be made.
type RecordFailing struct {
	RunID    string
	Unit     string // "" where the run is gone
	Run      string // as the unit calls it
	Failures int
	Since    time.Time // the first time
	Next     time.Time // it is tried again
	Why      string    // the last time
}

// RecordWaits says how long a run waits for its record.
type RecordWaits struct {
	Settled time.Duration // since it last changed
	Whole   time.Duration // since its end, where nothing is missing
	Gap     time.Duration // since its end, where a hole may still be filled
}

// LogHash is one stored hash of the record log.
type LogHash struct {
	Index int64
	Hash  []byte
}

// LogLeaf is one leaf of the record log.
type LogLeaf struct {
	Leaf    int64
	Kind    string // run or entry
	Subject string // of which run or entry
	Hash    []byte
}

// StoredRecord is the sealed record of a run as it is stored.
type StoredRecord struct {
	Leaf       int64
	RunID      string
	Unit       string
	Process    string
	Push       float64
	StartedAt  time.Time
	SealedAt   time.Time
	Supersedes *int64
	Good       bool   // counts among the good runs
	Features   []byte // as they stand in the record
	Size       int    // of the record, in bytes
	PackedHash []byte
	Packed     []byte // the record, compressed
}

// StoredPart is a part of a record as it is stored.
type StoredPart struct {
	RunID      string
	N          int   // counted from 1
	Leaf       int64 // of the record it is part of; it has none while that is made
	Messages   int
	Size       int // of the part, in bytes
	PackedHash []byte
	Packed     []byte // the part, compressed
}

// StoredEntry is an entry as the log has it.
type StoredEntry struct {
	Leaf    int64
	Entry   string
	Arrival int64
	Body    []byte
}

// LogAppend is what is added to the record log in one transaction.
type LogAppend struct {
	Size       int64 // leaves there are before it
	Leaves     []LogLeaf
	Hashes     []LogHash
	Checkpoint string // signed, of the log as it is afterwards
	Verifier   string // the key it is checked with
	Records    []StoredRecord
	Entries    []StoredEntry
	Sealed     []SealedRun
	Parted     []PartedRecord
}

// PartedRecord says which parts, written before, belong to a record.
type PartedRecord struct {
	Leaf  int64
	RunID string
	Parts int
}

// SealedRun is a run whose record is written: its row shows the seal, and it
// waits no more unless it changed since.
type SealedRun struct {
	RunID   string
	Changes int64 // of RecordDue
	Seal    SealBrief
}
