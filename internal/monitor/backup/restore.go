package backup

import (
	"context"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/postgres/dump"
)

// Restore fills an empty database from a backup and compares what came of it
// with the manifest. The migrations of a newer program come after that.
func Restore(ctx context.Context, folder, database string, progress dump.Progress) (Manifest, error) {
	m, err := Check(folder)
	if err != nil {
		return m, err
	}
	if err := dump.Restore(ctx, database, filepath.Join(folder, databaseFile), m.Tables, progress); err != nil {
		return m, err
	}
	got, err := dump.FactsOf(ctx, database, progress)
	if err != nil {
		return m, err
	}
	if wrong := differences(m.Lab, got); len(wrong) > 0 {
		return m, lab.Errorf(lab.KindInternal, "what was restored is not what was backed up: %s", strings.Join(wrong, "; "))
	}
	return m, nil
}

// differences names what a restored database has otherwise than the one that
// was backed up.
func differences(was, is dump.Facts) (out []string) {
	tables := maps.Clone(was.Rows)
	for name := range is.Rows {
		tables[name] += 0
	}
	for _, name := range slices.Sorted(maps.Keys(tables)) {
		if was.Rows[name] != is.Rows[name] {
			out = append(out, fmt.Sprintf("%s has %d rows, it had %d", name, is.Rows[name], was.Rows[name]))
		}
	}
	if was.Schema != is.Schema {
		out = append(out, fmt.Sprintf("the schema is %d, it was %d", is.Schema, was.Schema))
	}
	if was.Leaves != is.Leaves || was.Checkpoint != is.Checkpoint {
		out = append(out, fmt.Sprintf("the record log has %d leaves, it had %d", is.Leaves, was.Leaves))
	}
	return out
}
