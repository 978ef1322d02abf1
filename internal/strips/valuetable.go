package strips

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// maxRows is how many rows a table may have: more than a strip a minute for a
// year.
const maxRows = 1_000_000

// maxNumber bounds every number of a table; no reading comes near it.
const maxNumber = 1e12

// Row is one row of a table of values. What a row leaves empty is nil.
type Row struct {
	Line      int    // in the file
	At        string // as written
	Time      time.Time
	Parameter string
	Value     float64
	Aim       *float64
	Sigma     *float64
	Action    *float64
	Control   *float64
	Side      Side // "" where the row does not say
}

// columns are those that a table may have; the first three are required.
var columns = []string{"at", "parameter", "value", "aim", "sigma", "action", "control", "side"}

// ReadTable reads a table of values as CSV (RFC 4180), with the names of its
// columns in the first row: at, parameter, value and, where known, aim, sigma,
// action, control, side. Columns of other names are skipped and named in
// ignored. The rows come in order of time.
func ReadTable(r io.Reader) (rows []Row, ignored []string, err error) {
	c := csv.NewReader(withoutBOM(r))
	c.FieldsPerRecord = -1
	c.TrimLeadingSpace = true
	head, err := c.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil, fmt.Errorf("the file is empty; the first row must name the columns: %s", strings.Join(columns[:3], ","))
	}
	if err != nil {
		return nil, nil, err
	}
	at, ignored, err := findColumns(head)
	if err != nil {
		return nil, nil, err
	}
	for {
		fields, err := c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, err
		}
		line, _ := c.FieldPos(0)
		if len(fields) != len(head) {
			return nil, nil, fmt.Errorf("line %d has %d fields; the first row names %d columns", line, len(fields), len(head))
		}
		if len(rows) == maxRows {
			return nil, nil, fmt.Errorf("line %d: more than %d rows; check a shorter period", line, maxRows)
		}
		row, err := readRow(fields, at)
		if err != nil {
			return nil, nil, fmt.Errorf("line %d: %w", line, err)
		}
		row.Line = line
		rows = append(rows, row)
	}
	slices.SortStableFunc(rows, func(a, b Row) int { return a.Time.Compare(b.Time) })
	return rows, ignored, nil
}

// withoutBOM drops the mark with which spreadsheets begin a file.
func withoutBOM(r io.Reader) io.Reader {
	b := bufio.NewReader(r)
	if mark, err := b.Peek(3); err == nil && string(mark) == "\ufeff" {
		_, _ = b.Discard(3)
	}
	return b
}

// findColumns finds the columns by their names.
func findColumns(head []string) (at map[string]int, ignored []string, err error) {
	at = map[string]int{}
	for i, name := range head {
		key := strings.ToLower(strings.TrimSpace(name))
		if !slices.Contains(columns, key) {
			ignored = append(ignored, name)
			continue
		}
		if _, twice := at[key]; twice {
			return nil, nil, fmt.Errorf("line 1: the column %q is there twice", key)
		}
		at[key] = i
	}
	for _, must := range columns[:3] {
		if _, ok := at[must]; !ok {
			return nil, nil, fmt.Errorf("line 1: there is no column %q; the first row must name the columns, such as %s", must, strings.Join(columns, ","))
		}
	}
	return at, ignored, nil
}

func readRow(fields []string, at map[string]int) (row Row, err error) {
	get := func(name string) string {
		i, ok := at[name]
		if !ok {
			return ""
		}
		return strings.TrimSpace(fields[i])
	}
	row.At, row.Parameter = get("at"), get("parameter")
	if row.Time, err = readTime(row.At); err != nil {
		return row, err
	}
	if row.Parameter == "" {
		return row, errors.New("parameter is empty; it must name what was read, such as ld")
	}
	value, err := parseNumber("value", get("value"), -maxNumber)
	if err != nil {
		return row, err
	}
	if value == nil {
		return row, errors.New("value is empty; it must be a number")
	}
	row.Value = *value
	for _, f := range []struct {
		name string
		to   **float64
		low  float64
	}{{"aim", &row.Aim, -maxNumber}, {"sigma", &row.Sigma, 0}, {"action", &row.Action, 0}, {"control", &row.Control, 0}} {
		if *f.to, err = parseNumber(f.name, get(f.name), f.low); err != nil {
			return row, err
		}
	}
	switch side := Side(strings.ToLower(get("side"))); side {
	case "", Both, High, Low:
		row.Side = side
	default:
		return row, fmt.Errorf("side must be both, high or low; got %q", side)
	}
	return row, nil
}

// readTime takes RFC 3339, and a day alone: a strip a day is the usual.
func readTime(s string) (time.Time, error) {
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00", "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", time.DateOnly} {
		if t, err := time.Parse(layout, s); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("at must be a time such as 2026-03-01T09:30:00Z or a day such as 2026-03-01; got %q", s)
}

func parseNumber(name, s string, low float64) (*float64, error) {
	if s == "" {
		return nil, nil
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || v < low || v > maxNumber {
		return nil, fmt.Errorf("%s must be a number from %g to %g; got %q", name, low, maxNumber, s)
	}
	return &v, nil
}
