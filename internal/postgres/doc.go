// Package postgres is the store of wetside: telemetry exactly once, what was
// refused, what people entered, alerts, runs, the state of the fold, people
// and settings.
//
// Open connects, migrates and makes partitions ahead. Hold then waits until
// this process holds the lab and gives it a term; every Append and Commit
// carries the term and fails with lab.KindConflict once another holder has
// taken the next one. Reading and AppendEntry need no term.
//
//	store, err := postgres.Open(ctx, postgres.Config{URL: url, Decode: ingest.Decode})
//	holding, err := store.Hold(ctx)
//	res, err := store.Append(ctx, holding.Term(), messages, refused)
//
// A Store is safe for concurrent use. Append calls of one Store run one after
// the other. Errors carry a lab.Kind: KindUnavailable where the database does
// not answer and the same call may be made again, KindNotFound, KindConflict,
// KindInvalid; all else is a fault of the program or the database.
//
// Channels: Wake coalesces (a hint, never a fact: poll as well);
// Holding.Lost is closed once.
package postgres
