package wastebook

import (
	"strconv"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Columns are those of the log as a table.
var Columns = []string{"at", "what", "unit", "container", "stream", "litres", "litres_by", "to", "drum", "accumulation_since", "hauler", "manifest", "silver_mg_per_liter", "silver_how", "initials", "ok", "by", "note", "removed", "version", "missing", "id"}

// Table is the log as a table, oldest first, with the names of its columns in
// the first row; every version of a line that was corrected has a row of its
// own before it, marked by its version.
func Table(rows []WasteRow, zone *time.Location) [][]string {
	out := [][]string{Columns}
	for i := len(rows) - 1; i >= 0; i-- {
		r := rows[i]
		for _, v := range r.Versions {
			if v.Version < r.Version {
				old := r
				old.WasteLine, old.At, old.By, old.Version, old.Missing = v.WasteLine, v.At, v.By, v.Version, nil
				out = append(out, tableRow(old, "corrected", zone))
			}
		}
		out = append(out, tableRow(r, "", zone))
	}
	return out
}

func tableRow(r WasteRow, mark string, zone *time.Location) []string {
	removed := mark
	if removed == "" && r.Removed {
		removed = "removed"
	}
	since, ok := "", ""
	if r.Since != nil {
		since = r.Since.In(zone).Format(time.DateOnly)
	}
	if r.OK != nil {
		ok = map[bool]string{true: "in order", false: "not in order"}[*r.OK]
	}
	by := r.By
	if n := len(r.Versions); n > 0 && mark == "" {
		by = r.Versions[n-1].By
	}
	row := []string{r.At.In(zone).Format(time.RFC3339), r.What, r.Unit, r.Container, r.Stream, number(r.Litres), r.LitresBy, r.To, r.Drum, since, r.Hauler, r.Manifest,
		number(r.SilverMgL), r.SilverHow, r.Initials, ok, by, r.Note, removed, strconv.Itoa(r.Version), strings.Join(r.Missing, " "), r.ID}
	for i := range row {
		row[i] = lab.CSVText(row[i])
	}
	return row
}

func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}
