// Package postgres is the store of wetside: telemetry exactly once, what was
// refused, what people entered, alerts, runs, the state of the fold, people
// and settings.
//
// Open connects, migrates and makes partitions ahead. AcquireLease then waits
// until this process has the lease of the lab, which has a term; every Append
// and Commit carries the term and fails with lab.KindConflict once another
// process has taken the next one. Reading and AppendEntry need no term.
//
//	store, err := postgres.Open(ctx, postgres.Config{URL: url, Decode: ingest.Decode})
//	lease, err := store.AcquireLease(ctx, nil)
//	res, err := store.Append(ctx, lease.Term(), messages, refused)
//
// A Store is safe for concurrent use. Append calls of one Store run one after
// the other. Errors carry a lab.Kind: KindUnavailable where the database does
// not answer and the same call may be made again, KindNotFound, KindConflict,
// KindInvalid; all else is a fault of the program or the database.
//
// Channels: Wake coalesces (a hint, never a fact: poll as well);
// Lease.Lost is closed once.
package postgres
