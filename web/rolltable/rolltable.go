// Package rolltable reads lists of rolls as people and their programs write
// them: tables with a head or without one, processes by id or name, pushes such
// as "+1/3" or "pull 1", days with or without a time.
//
// Use: Read a table into rows, then a [Reader] makes a roll of each, or says
// what is wrong with it. Pure, and safe for concurrent use.
package rolltable

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Row is one row of a list of rolls as it was sent.
type Row struct {
	Row                                                            int // 1: the first, the head of a table counted in
	TwinCheck, Process, Push, Film, Format, Order, Due, Note, Stop string
}

// columnsByName are the names that columns of a list may have, and of which
// field each is.
var columnsByName = map[string]func(*Row) *string{}

// usualOrder is the order of the columns where a list has no head.
var usualOrder = []string{"twin check", "process", "push", "order", "due", "film", "format", "note"}

func init() {
	for _, c := range []struct {
		names string
		of    func(*Row) *string
	}{
		{"twin check,twincheck,twin,roll,barcode,number", func(r *Row) *string { return &r.TwinCheck }},
		{"process", func(r *Row) *string { return &r.Process }},
		{"push,push pull,stops", func(r *Row) *string { return &r.Push }},
		{"film,film stock,stock", func(r *Row) *string { return &r.Film }},
		{"format,size", func(r *Row) *string { return &r.Format }},
		{"order,order number,order no,job", func(r *Row) *string { return &r.Order }},
		{"due,due at,due date,promised", func(r *Row) *string { return &r.Due }},
		{"note,notes,comment", func(r *Row) *string { return &r.Note }},
		{"stop", func(r *Row) *string { return &r.Stop }},
	} {
		for name := range strings.SplitSeq(c.names, ",") {
			columnsByName[name] = c.of
		}
	}
}

// columnName is the name of a column without what people write differently.
func columnName(s string) string {
	words := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) })
	return strings.Join(words, " ")
}

// Read reads a table of rolls: comma, semicolon or tab between, with a
// head or, without one, in the order of usualOrder. It gives the columns that it
// does not know.
func Read(text string) (rows []Row, ignored []string, err error) {
	text = strings.TrimPrefix(text, "\ufeff")
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = separator(text), -1, true
	columns := usualOrder
	for first := true; ; first = false {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, ignored, nil
		}
		if err != nil {
			return nil, nil, lab.Errorf(lab.KindInvalid, "the list does not read: %w", err)
		}
		line, _ := r.FieldPos(0)
		if first && isHead(cells) {
			columns = nil
			for _, c := range cells {
				name := columnName(c)
				if columnsByName[name] == nil {
					ignored = append(ignored, strings.TrimSpace(c))
				}
				columns = append(columns, name)
			}
			continue
		}
		row := Row{Row: line}
		for i, c := range cells {
			if i < len(columns) && columnsByName[columns[i]] != nil {
				*columnsByName[columns[i]](&row) = strings.TrimSpace(c)
			}
		}
		if strings.TrimSpace(strings.Join(cells, "")) == "" {
			continue
		}
		if rows = append(rows, row); len(rows) > lab.MaxRollList {
			return nil, nil, lab.Errorf(lab.KindInvalid, "a list may have %d rolls; send the rest as another list", lab.MaxRollList)
		}
	}
}

func isHead(cells []string) bool {
	for _, c := range cells {
		if name := columnName(c); name == "twin check" || name == "twincheck" || name == "roll" || name == "twin" || name == "barcode" {
			return true
		}
	}
	return false
}

// separator is what stands between the cells of the first line.
func separator(text string) rune {
	line, _, _ := strings.Cut(text, "\n")
	switch {
	case strings.Contains(line, "\t"):
		return '\t'
	case strings.Count(line, ";") > strings.Count(line, ","):
		return ';'
	}
	return ','
}

// Reader makes rolls of rows: names of processes, pushes and days as
// people write them.
type Reader struct {
	Book  *process.Book // nil: processes of the units only
	Units []lab.Unit    // their processes count as known too
	Zone  *time.Location
}

// Roll makes a roll of a row, or says what is wrong with it.
func (x Reader) Roll(row Row) (lab.KnownRoll, error) {
	k := lab.KnownRoll{Film: row.Film, Format: row.Format, Order: row.Order, Note: row.Note, Stop: row.Stop}
	var err error
	if k.TwinCheck, err = lab.TwinCheck(row.TwinCheck); err != nil {
		return k, err
	}
	if k.Process, err = x.process(row.Process); err != nil {
		return k, err
	}
	if row.Push != "" {
		push, err := readPush(row.Push)
		if err != nil {
			return k, err
		}
		k.Push = &push
	}
	if row.Due != "" {
		due, err := readDue(row.Due, x.Zone)
		if err != nil {
			return k, err
		}
		k.DueAt = lab.AtPtr(due)
	}
	return k, k.Check()
}

// process finds a process by its id or its name: c41, C-41.
func (x Reader) process(said string) (string, error) {
	if said == "" {
		return "", nil
	}
	plain := func(s string) string {
		return strings.Map(func(r rune) rune {
			if unicode.IsLetter(r) || unicode.IsDigit(r) {
				return unicode.ToLower(r)
			}
			return -1
		}, s)
	}
	var ids, names []string
	byName := map[string]string{}
	if x.Book != nil {
		ids = append(ids, x.Book.IDs()...)
		for _, id := range ids {
			sh, _ := x.Book.Sheet(id)
			byName[plain(sh.Name)] = id
			names = append(names, sh.Name)
		}
	}
	for _, u := range x.Units {
		ids = append(ids, u.Processes...)
	}
	want := plain(said)
	for _, id := range ids {
		if plain(id) == want {
			return id, nil
		}
	}
	for _, id := range ids { // e6: any unit that runs e6-3 or e6-7 does it
		if generic, _, ok := strings.Cut(id, "-"); ok && plain(generic) == want {
			return generic, nil
		}
	}
	if id := byName[want]; id != "" {
		return id, nil
	}
	return "", fmt.Errorf("process must be one of %s; got %q", strings.Join(names, ", "), said)
}

// readPush reads a push in stops: 1, +1, -1/3, 1 1/3, push 1, pull 1, normal.
func readPush(said string) (float64, error) {
	wrong := fmt.Errorf("push must be stops from -6 to 6, such as 0, +1 or -1/3; got %q", said)
	s := strings.ToLower(strings.NewReplacer("\u2212", "-", "\u2013", "-", ",", ".").Replace(said))
	s = strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(strings.TrimSpace(s), "stops"), "stop"))
	sign := 1.0
	switch {
	case s == "normal" || s == "n":
		return 0, nil
	case strings.HasPrefix(s, "push"):
		s = s[len("push"):]
	case strings.HasPrefix(s, "pull"):
		s, sign = s[len("pull"):], -1
	}
	switch s = strings.TrimSpace(s); {
	case strings.HasPrefix(s, "+"):
		s = s[1:]
	case strings.HasPrefix(s, "-"):
		s, sign = s[1:], -1
	}
	sum := 0.0
	parts := strings.Fields(s)
	if len(parts) == 0 || len(parts) > 2 {
		return 0, wrong
	}
	for _, p := range parts {
		over, under, fraction := strings.Cut(p, "/")
		v, err := strconv.ParseFloat(over, 64)
		if err != nil || v < 0 {
			return 0, wrong
		}
		if fraction {
			of, err := strconv.ParseFloat(under, 64)
			if err != nil || of <= 0 {
				return 0, wrong
			}
			v /= of
		}
		sum += v
	}
	if push := sign * sum; lab.BoundPush.Holds(push) {
		return push, nil
	}
	return 0, wrong
}

// dueForms are days, with or without a time, as people write them. A day alone
// is due by its end.
var dueForms = []struct {
	form string
	day  bool
}{
	{time.RFC3339, false}, {"2006-01-02 15:04", false}, {"2006-01-02T15:04", false}, {"2006-01-02 15:04:05", false}, {"2006-01-02", true},
	{"1/2/2006 15:04", false}, {"1/2/2006 3:04 PM", false}, {"1/2/2006", true}, {"1/2/06", true},
}

func readDue(said string, zone *time.Location) (time.Time, error) {
	for _, f := range dueForms {
		t, err := time.ParseInLocation(f.form, strings.ToUpper(said), zone)
		if err != nil {
			continue
		}
		if f.day {
			t = time.Date(t.Year(), t.Month(), t.Day(), 23, 59, 0, 0, zone)
		}
		if t.Year() < 2000 || t.Year() > 2200 {
			break
		}
		return t, nil
	}
	return time.Time{}, fmt.Errorf("due must be a day such as 2026-12-01, with a time such as 17:00 behind it or without; got %q", said)
}
