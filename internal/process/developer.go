package process

import (
	"maps"
	"math"
	"slices"
	"strings"
)

// Developer is how fast one developer works at other temperatures, for one
// film, dilution and format: by a factor with a range, or by a table of times.
// Read only once loaded.
type Developer struct {
	ID       string
	Film     string
	Brew     string // the developer's own name
	Dilution string // "" undiluted or not stated
	Format   string // such as 135; "" where the source does not tell them apart
	// Factor is set where there is no table.
	Factor *Factor
	// Table is times by temperature, rising in temperature; nil with Factor.
	Table []TimeAt
	// RoundS is how finely the table's times are printed, seconds: each may
	// be off by half of it.
	RoundS float64
	// Partial says that the source's row is damaged: some points are missing.
	Partial bool
	Note    string
	Sources []Source
}

// TimeAt is one time of a table.
type TimeAt struct{ C, S float64 }

// Name is the developer for people: "TMX in XTOL 1:1, 135".
func (d *Developer) Name() string {
	name := strings.TrimSpace(d.Brew + " " + d.Dilution)
	if d.Film != "" {
		name = d.Film + " in " + name
	}
	if d.Format != "" {
		name += ", " + d.Format
	}
	return name
}

// With is the step judged by a developer of the lab's: a copy whose speed
// goes with temperature as the developer's does. The sheet's time and
// temperature stay. nil gives the step as it is. Meant for the sheet's own
// step, not for a copy that With gave.
func (s *Step) With(d *Developer) *Step {
	out := *s
	if d == nil || s.Kind != Dev {
		return &out
	}
	out.Developer = d
	if d.Factor != nil {
		out.Factor, out.kinetics = *d.Factor, nil
		return &out
	}
	k := d.curves(s.AimC, s.Factor)
	out.kinetics = &k
	return &out
}

// logTable is a table with the logarithms of its times: as printed, and the
// least and most that were rounded to them.
type logTable struct{ x, best, lo, hi []float64 }

// logs gives the table's logarithms. A time is known to half of the step it
// is printed in; and as no developer works slower when warmer, a time is at
// most what those before it may be and at least what those after it may be.
func (d *Developer) logs() logTable {
	var t logTable
	for _, p := range d.Table {
		t.x = append(t.x, p.C)
		t.best = append(t.best, math.Log(p.S))
		t.lo = append(t.lo, math.Log(p.S-d.RoundS/2))
		t.hi = append(t.hi, math.Log(p.S+d.RoundS/2))
	}
	n := len(t.x)
	for i := 1; i < n; i++ {
		t.hi[i] = min(t.hi[i], t.hi[i-1])
		t.lo[n-1-i] = max(t.lo[n-1-i], t.lo[n-i])
	}
	return t
}

// weights are those that read the table at c off its points.
func (t *logTable) weights(c float64) []float64 {
	w := make([]float64, len(t.x))
	i := 1
	for i < len(t.x)-1 && c > t.x[i] {
		i++
	}
	f := (c - t.x[i-1]) / (t.x[i] - t.x[i-1])
	w[i-1], w[i] = 1-f, f
	return w
}

// least and most are the bounds of a weighted sum of the logarithms.
func (t *logTable) least(w []float64) float64 {
	sum := 0.0
	for i, v := range w {
		sum += min(v*t.lo[i], v*t.hi[i])
	}
	return sum
}

func (t *logTable) most(w []float64) float64 {
	sum := 0.0
	for i, v := range w {
		sum += max(v*t.lo[i], v*t.hi[i])
	}
	return sum
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// slopes are those of the logarithm of the rate beyond one end of the table,
// a °C, between points i and i+1: as printed, and from the flattest to the
// steepest that the rounding allows. Outside the table nothing is printed, so
// the sheet's own range of the factor counts as possible too.
func (t *logTable) slopes(i int, sheet Factor) Range {
	dx := t.x[i+1] - t.x[i]
	r := Range{
		Best: (t.best[i] - t.best[i+1]) / dx,
		Low:  max(0, (t.lo[i]-t.hi[i+1])/dx),
		High: (t.hi[i] - t.lo[i+1]) / dx,
	}
	if sheet.Low > 0 {
		r.Low, r.High = min(r.Low, math.Log(sheet.Low)/10), max(r.High, math.Log(sheet.High)/10)
	}
	return r
}

// curves are the rates by the table against the time that it gives at aim.
// The bounds are exact at the table's temperatures: what the times printed
// there may be before rounding. Between them each possible table is straight,
// so the straight line between two bounds bounds it as well.
func (d *Developer) curves(aim float64, sheet Factor) curves {
	t := d.logs()
	n := len(t.x) - 1
	below, above := t.slopes(0, sheet), t.slopes(n-1, sheet)
	// The part of the way to the aim that lies outside the table.
	near := min(max(aim, t.x[0]), t.x[n])
	var away Range
	switch out := aim - near; {
	case out < 0:
		away = Range{-below.Best * out, -below.Low * out, -below.High * out}
	case out > 0:
		away = Range{-above.Best * out, -above.High * out, -above.Low * out}
	}
	wAim := t.weights(near)
	k := curves{
		best: curve{below: below.Best, above: above.Best},
		low:  curve{below: below.High, above: above.Low},
		high: curve{below: below.Low, above: above.High},
	}
	for _, x := range slices.Sorted(maps.Keys(distinct(append(slices.Clone(t.x), aim)))) {
		v := Range{}
		if x != aim {
			w := t.weights(x)
			for i := range w {
				w[i] = wAim[i] - w[i]
			}
			v = Range{dot(w, t.best), t.least(w), t.most(w)}
			if x > near {
				v.Low = max(v.Low, 0)
			} else if x < near {
				v.High = min(v.High, 0)
			}
			v = v.Plus(away)
		}
		k.best.add(x, v.Best)
		k.low.add(x, v.Low)
		k.high.add(x, v.High)
	}
	k.keepRising()
	return k
}

func (c *curve) add(x, y float64) { c.x, c.y = append(c.x, x), append(c.y, y) }

// keepRising keeps the bounds from falling with temperature, by moving them
// outwards only.
func (k *curves) keepRising() {
	for i := 1; i < len(k.low.y); i++ {
		j := len(k.low.y) - 1 - i
		k.low.y[j] = min(k.low.y[j], k.low.y[j+1])
		k.high.y[i] = max(k.high.y[i], k.high.y[i-1])
	}
}
