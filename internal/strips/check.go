package strips

import (
	"fmt"
	"slices"
)

// Finding is a signal of a table's row.
type Finding struct {
	At        string  `json:"at"` // as the row has it
	Parameter string  `json:"parameter"`
	Value     float64 `json:"value"`
	Signal    Signal  `json:"signal"`
	Detail    string  `json:"detail"`
}

// Check gives the findings of a table's rows, in order of time; notes say what
// a person should know about how they were judged. Each parameter is a chart
// of its own. What a row leaves empty holds as the parameter's last row had
// it; an aim or a spread that no row has given yet is set by the parameter's
// first baselineSize values.
func Check(rows []Row, s Settings) (findings []Finding, notes []string) {
	byParameter := map[string][]int{}
	var names []string
	for i, row := range rows {
		if _, seen := byParameter[row.Parameter]; !seen {
			names = append(names, row.Parameter)
		}
		byParameter[row.Parameter] = append(byParameter[row.Parameter], i)
	}
	found := make([][]Finding, len(rows))
	for _, name := range names {
		index := byParameter[name]
		points, said := toPoints(name, rows, index)
		notes = append(notes, said...)
		for _, m := range Chart(points, s) {
			row := rows[index[m.Point]]
			found[index[m.Point]] = append(found[index[m.Point]], Finding{
				At: row.At, Parameter: name, Value: row.Value, Signal: m.Signal, Detail: m.Detail,
			})
		}
	}
	return slices.Concat(found...), notes
}

// toPoints sets beside each value what it is judged by.
func toPoints(name string, rows []Row, index []int) (points []Point, notes []string) {
	aim, sigma, ok := baselineOf(ownValues(rows, index))
	said := map[string]bool{}
	note := func(format string, args ...any) {
		if text := name + ": " + fmt.Sprintf(format, args...); !said[text] {
			said[text] = true
			notes = append(notes, text)
		}
	}
	var held Row
	for _, i := range index {
		held = held.completed(rows[i])
		p := Point{Value: held.Value, Aim: aim, Sigma: sigma, Side: held.Side}
		if held.Aim != nil {
			p.Aim = *held.Aim
		}
		if held.Sigma != nil {
			p.Sigma = *held.Sigma
		}
		if held.Action != nil {
			p.Action = *held.Action
		}
		if held.Control != nil {
			p.Control = *held.Control
		}
		if own := held.Aim == nil || held.Sigma == nil; own {
			switch n := len(index); {
			case !ok:
				note("one value alone sets no spread; it is judged by its limits only")
			case n < baselineSize:
				note("%d values set what the file does not give of aim and sigma: provisional until there are %d", n, baselineSize)
			}
		}
		if p.Sigma == 0 {
			note("sigma is 0: judged by its limits, eight on one side and six rising or falling only")
		}
		points = append(points, p)
	}
	return points, notes
}

// ownValues are the values from which a baseline is taken: deviations do not
// serve here, since a baseline is asked for where there is no aim.
func ownValues(rows []Row, index []int) []float64 {
	values := make([]float64, 0, baselineSize)
	for _, i := range index[:min(len(index), baselineSize)] {
		values = append(values, rows[i].Value)
	}
	return values
}

// completed gives row with what it leaves empty taken from the one before it.
func (held Row) completed(row Row) Row {
	for _, f := range []struct{ to, from **float64 }{
		{&row.Aim, &held.Aim}, {&row.Sigma, &held.Sigma}, {&row.Action, &held.Action}, {&row.Control, &held.Control},
	} {
		if *f.to == nil {
			*f.to = *f.from
		}
	}
	if row.Side == "" {
		row.Side = held.Side
	}
	return row
}
