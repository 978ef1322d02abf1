package process

import "math"

// fittedLine is a straight line fitted by least squares: y = a + b x, with the
// standard errors of both and the standard deviation of what is left.
type fittedLine struct{ a, b, seA, seB, residual float64 }

// fitLine fits a line through three points or more; w are weights, nil: all
// alike.
func fitLine(x, y, w []float64) fittedLine {
	weight := func(i int) float64 {
		if w == nil {
			return 1
		}
		return w[i]
	}
	var sw, mx, my float64
	for i := range x {
		sw += weight(i)
		mx += weight(i) * x[i]
		my += weight(i) * y[i]
	}
	mx, my = mx/sw, my/sw
	var sxx, sxy float64
	for i := range x {
		sxx += weight(i) * (x[i] - mx) * (x[i] - mx)
		sxy += weight(i) * (x[i] - mx) * (y[i] - my)
	}
	l := fittedLine{b: sxy / sxx}
	l.a = my - l.b*mx
	var rss float64
	for i := range x {
		r := (y[i] - my) - l.b*(x[i]-mx)
		rss += weight(i) * r * r
	}
	v := rss / float64(len(x)-2)
	l.residual = math.Sqrt(v)
	l.seB = math.Sqrt(v / sxx)
	l.seA = math.Sqrt(v * (1/sw + mx*mx/sxx))
	return l
}
