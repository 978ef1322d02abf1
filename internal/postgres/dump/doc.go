// Package dump brings a whole database into one file and back, by PostgreSQL's
// own programs (pg_dump, pg_restore): they know every kind of object, and the
// server's own versions.
//
// Open holds one moment of a running database, from which the file, the number
// of rows of each table and the last checkpoint of the record log are taken
// alike, whatever is written meanwhile. Restore fills an empty database, all or
// nothing, and refuses one that is not empty.
//
//	m, err := dump.Open(ctx, url)
//	defer m.Close()
//	err = m.Write(ctx, "database.dump", progress)
//	err = dump.Restore(ctx, otherURL, "database.dump", progress)
//
// A Moment belongs to one goroutine.
package dump
