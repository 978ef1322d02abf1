package strips

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"wetside/internal/lab"
)

// maxStripRows is how many strips a table of densities may have: one a day for
// thirty units and a year.
const maxStripRows = 10_000

// textColumns are the columns of a table of densities that are no densities;
// the first three must be there.
var textColumns = []string{"read_at", "unit", "process", "mix", "code", "by", "run", "note"}

// densityColumns are the rest, such as ld.r: those of every family.
func densityColumns() []string {
	var out []string
	for _, step := range readingOrder {
		for _, c := range []string{"r", "g", "b"} {
			out = append(out, step+"."+c)
		}
	}
	return out
}

// WriteDensities writes strips as a table, a row a strip, as ReadDensities
// reads it.
func WriteDensities(w io.Writer, reads []Reading) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	columns := densityColumns()
	if err := out.Write(append(slices.Clone(textColumns), columns...)); err != nil {
		return err
	}
	for _, r := range reads {
		row := []string{r.At.String(), r.Unit, lab.CSVText(r.Process), lab.CSVText(r.Mix), lab.CSVText(r.Code), lab.CSVText(cmp.Or(r.ReadBy, r.By)), r.Run, lab.CSVText(r.Note)}
		for _, c := range columns {
			step, color, _ := strings.Cut(c, ".")
			text := ""
			if v := r.Densities[step].Of(color); v != nil {
				text = strconv.FormatFloat(*v, 'f', -1, 64)
			}
			row = append(row, text)
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// ReadDensities reads a table of densities (RFC 4180), a row a strip, with the
// names of its columns in the first row: read_at, unit, process and, where
// known, mix, code, by, run, note, and a column for each density, such as ld.r.
// The strips come in order of time; lines gives where in the file each stands.
// Columns of other names are named in ignored. Densities that are out of range
// are the store's to refuse.
func ReadDensities(r io.Reader) (reads []Reading, lines []int, ignored []string, err error) {
	c := csv.NewReader(withoutBOM(r))
	c.TrimLeadingSpace = true
	head, err := c.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil, nil, fmt.Errorf("the file is empty; the first row must name the columns: %s and densities such as ld.r", strings.Join(textColumns[:3], ", "))
	}
	if err != nil {
		return nil, nil, nil, err
	}
	at, ignored, err := densityHeader(head)
	if err != nil {
		return nil, nil, nil, err
	}
	type row struct {
		read Reading
		line int
	}
	var rows []row
	for {
		fields, err := c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, nil, err
		}
		line, _ := c.FieldPos(0)
		if len(rows) == maxStripRows {
			return nil, nil, nil, fmt.Errorf("line %d: more than %d strips; bring a shorter period", line, maxStripRows)
		}
		read, err := densityRow(fields, at)
		if err != nil {
			return nil, nil, nil, fmt.Errorf("line %d: %w", line, err)
		}
		rows = append(rows, row{read, line})
	}
	slices.SortStableFunc(rows, func(a, b row) int { return a.read.At.Compare(b.read.At.Time) })
	for _, x := range rows {
		reads, lines = append(reads, x.read), append(lines, x.line)
	}
	return reads, lines, ignored, nil
}

// densityHeader finds the columns: a density's under any name that its step
// may have.
func densityHeader(head []string) (at map[string]int, ignored []string, err error) {
	at = map[string]int{}
	densities := 0
	for i, name := range head {
		key := strings.ToLower(strings.TrimSpace(name))
		if step, color, ok := strings.Cut(key, "."); ok {
			key = StepName(step) + "." + color
		}
		density := slices.Contains(densityColumns(), key)
		if !density && !slices.Contains(textColumns, key) {
			ignored = append(ignored, name)
			continue
		}
		if _, twice := at[key]; twice {
			return nil, nil, fmt.Errorf("line 1: the column %q is there twice", key)
		}
		if at[key] = i; density {
			densities++
		}
	}
	for _, must := range textColumns[:3] {
		if _, ok := at[must]; !ok {
			return nil, nil, fmt.Errorf("line 1: there is no column %q; a row a strip needs %s and densities such as ld.r", must, strings.Join(textColumns[:3], ", "))
		}
	}
	if densities == 0 {
		return nil, nil, errors.New("line 1: there is no column of densities, such as ld.r, ld.g and ld.b")
	}
	return at, ignored, nil
}

func densityRow(fields []string, at map[string]int) (Reading, error) {
	get := func(name string) string {
		if i, ok := at[name]; ok {
			return strings.TrimSpace(fields[i])
		}
		return ""
	}
	r := Reading{Unit: get("unit"), Run: get("run"), Strip: lab.Strip{Process: get("process"), Mix: get("mix"), Code: get("code"), ReadBy: get("by"), Note: get("note"), Densities: map[string]lab.RGB{}}}
	when, err := readTime(get("read_at"))
	if err != nil {
		return r, fmt.Errorf("read_%w", err)
	}
	r.At = lab.At(when)
	for _, c := range densityColumns() {
		v, err := parseNumber(c, get(c), -maxNumber)
		if err != nil {
			return r, err
		}
		if v == nil {
			continue
		}
		step, color, _ := strings.Cut(c, ".")
		d := r.Densities[step]
		*d.At(color) = v
		r.Densities[step] = d
	}
	if len(r.Densities) == 0 {
		return r, errors.New("no density is there; give at least one, such as ld.r")
	}
	return r, nil
}
