package records

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
	"wetside/internal/service"
	"wetside/rules"
)

// Reader is what reports need of the database.
type Reader interface {
	RunRow(ctx context.Context, id string) (lab.RunRow, error)
	// Record gives the present record of a run, or lab.KindNotFound.
	Record(ctx context.Context, run string) (lab.StoredRecord, error)
	// RecordPart gives the n-th part of a record, from 1; with leaf -1 of the
	// one that is being made of the run.
	RecordPart(ctx context.Context, run string, leaf int64, n int) (lab.StoredPart, error)
	// RunMessages gives each the telemetry of a run in arrival order, with
	// some of before and after, however much that is.
	RunMessages(ctx context.Context, r lab.RunRow, each func(lab.Message) error) error
	RecordEntries(ctx context.Context, r lab.RunRow, since time.Time, to int64) ([]lab.Entry, error)
	EntriesOfRun(ctx context.Context, run string) ([]lab.Entry, error)
	RunAlerts(ctx context.Context, run string) ([]lab.Alert, error)
	// GoodRuns gives the features of earlier good runs, as records keep them.
	GoodRuns(ctx context.Context, r lab.Run, limit int) ([][]byte, error)
	UnitState(ctx context.Context, unit lab.UnitID) (lab.UnitState, error)
	UnitSettings(ctx context.Context) (map[string]lab.UnitSetting, error)
}

// Store is what the worker needs of the database.
type Store interface {
	Reader
	RecordsDue(ctx context.Context, now time.Time, w lab.RecordWaits, limit int) ([]lab.RecordDue, error)
	RecordsWithoutBefore(ctx context.Context, limit int) ([]lab.RecordDue, error)
	KeepBefore(ctx context.Context, d lab.RecordDue) error
	// PutOffRecord lets a run wait; why says what failed.
	PutOffRecord(ctx context.Context, d lab.RecordDue, until time.Time, why string) error
	RecordsFailing(ctx context.Context, limit int) ([]lab.RecordFailing, error)
	// DraftPart keeps a part of a record that is being made; the first takes
	// the place of what an earlier try left behind.
	DraftPart(ctx context.Context, term int64, p lab.StoredPart) error
	DropDraftParts(ctx context.Context, term int64, run string) error
	RecordNotNeeded(ctx context.Context, d lab.RecordDue) error
	EntriesToSeal(ctx context.Context, limit int) ([]lab.Entry, error)
	LogHead(ctx context.Context) (size int64, checkpoint string, err error)
	LogHashes(ctx context.Context, indexes []int64) ([][]byte, error)
	LogKeys(ctx context.Context) ([]string, error)
	// AppendLog writes all of a or nothing. lab.KindConflict ends the worker.
	AppendLog(ctx context.Context, term int64, a lab.LogAppend) error
}

// Making is what a report is made with.
type Making struct {
	// Rules are the sheets and rules that runs are judged by.
	Rules rules.Config
	// Decode reads a stored payload with the code that accepted it.
	Decode func(lab.Raw) (lab.Message, error)
	// Program names the program and its version in records and reports.
	Program string
	Zone    *time.Location // of the times of day in PDFs. Defaults to UTC.
	// Units are the lab's units of measure, of reports on paper. Defaults to
	// degrees Celsius and liters.
	Units func(context.Context) lab.Units
	Clock lab.Clock    // Defaults to lab.SystemClock.
	Log   *slog.Logger // Defaults to slog.Default.
}

func (m *Making) complete() error {
	if m.Units == nil {
		m.Units = func(context.Context) lab.Units { return lab.Units{} }
	}
	if m.Decode == nil {
		return errors.New("records: Decode must be set")
	}
	if m.Clock == nil {
		m.Clock = lab.SystemClock{}
	}
	if m.Log == nil {
		m.Log = slog.Default()
	}
	return nil
}

// Witness keeps the last checkpoint outside the database.
type Witness interface {
	Last() (checkpoint string, err error) // "" where none was kept yet
	Keep(checkpoint string) error
}

// Config is what a Worker works with.
type Config struct {
	Making
	Store Store
	Term  int64
	Key   *seal.Key
	// Witness, where set, keeps the last checkpoint where the database does
	// not reach: a log that was cut short is then found out.
	Witness Witness
	// Waits say when a run is sealed. Default to 1 min since it last changed;
	// 10 min since its end where nothing is missing, 24 h where a gap is open.
	Waits lab.RecordWaits
	Poll  time.Duration // how often it looks. Defaults to 2 s.
	// Drop, where set, is called once an hour to drop telemetry that is no longer
	// needed.
	Drop func(ctx context.Context) error
}

// The worker's other figures.
const (
	storeWithin   = 60 * time.Second // one call of the store
	sealWithin    = 15 * time.Minute // one run, however long it is
	entriesAtOnce = 200              // entries in one transaction
	statesAtOnce  = 20
	goodRuns      = 25 // a run is compared with so many
	mostStrikes   = 3  // failures of the database at one run, after which the run counts as failing
	mostFailing   = 100
	lookAgain     = time.Minute // how soon to check again a log that was found changed
	dropEvery     = time.Hour
	restAtLeast   = 5 * time.Millisecond
	restAtMost    = 2 * time.Second
)

// A run whose record fails waits longer each time, and no other waits for it.
var putOffs = []time.Duration{time.Minute, 5 * time.Minute, 15 * time.Minute, time.Hour, 3 * time.Hour, 6 * time.Hour}

// A record whose messages are more than this has them in parts of this size.
const (
	partMessages = 10_000
	partBytes    = 4 << 20 // of payloads
)

func (c *Config) complete() error {
	if c.Store == nil || c.Key == nil {
		return errors.New("records: Store and Key must be set")
	}
	if err := c.Making.complete(); err != nil {
		return err
	}
	c.Waits.Settled = service.Positive(c.Waits.Settled, time.Minute)
	c.Waits.Whole = service.Positive(c.Waits.Whole, 10*time.Minute)
	c.Waits.Gap = service.Positive(c.Waits.Gap, 24*time.Hour)
	c.Poll = service.Positive(c.Poll, 2*time.Second)
	return nil
}
