package bench

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"sync"

	"wetside/internal/lab"
)

var draw = flag.Bool("draw", false, "draw the curves of DEVELOPERS.md anew")

// picture is where they are drawn, from this folder.
const picture = "../../testdata/bench.svg"

// point is one measurement of a curve.
type point struct {
	at             string
	ours, postgres float64 // postgres: 0 where it is not told apart
}

// curve is one drawing: how a figure grows with what is along its foot.
type curve struct {
	what, along string
	points      []point
}

type drawings struct {
	mu  sync.Mutex
	all []curve
}

var curves drawings

func (d *drawings) add(c curve) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.all = append(d.all, c)
}

func names(points []point) string {
	var out []string
	for _, p := range points {
		out = append(out, p.at)
	}
	return strings.Join(out, ", ")
}

func values(points []point, of func(point) float64) string {
	var out []string
	for _, p := range points {
		out = append(out, fmt.Sprintf("%.3g", of(p)))
	}
	return strings.Join(out, ", ")
}

const (
	curveWidth  = 460
	curveHeight = 230
)

// svg draws the curves two beside each other, bars from nought: a curve that is
// flat is seen to be flat.
func (d *drawings) svg() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var b strings.Builder
	high := (len(d.all) + 1) / 2 * curveHeight
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" font-family=\"sans-serif\">\n<title>What does not grow: figures by units and by days of history</title><rect width=\"100%%\" height=\"100%%\" fill=\"#ffffff\"/>\n", 2*curveWidth, high)
	for i, c := range d.all {
		c.draw(&b, i%2*curveWidth, i/2*curveHeight)
	}
	b.WriteString("</svg>\n")
	return b.String()
}

func (c curve) draw(b *strings.Builder, x, y int) {
	text := func(x, y, size int, color, anchor, s string) {
		fmt.Fprintf(b, "<text x=\"%d\" y=\"%d\" font-size=\"%d\" fill=\"%s\" text-anchor=\"%s\">%s</text>\n", x, y, size, color, anchor, s)
	}
	most := 0.0
	two := false
	for _, p := range c.points {
		most = max(most, p.ours, p.postgres)
		two = two || p.postgres > 0
	}
	text(x+20, y+24, 14, "#222222", "start", c.what)
	if two {
		text(x+20, y+42, 12, "#3b6ea8", "start", "wetside")
		text(x+80, y+42, 12, "#8a6d3b", "start", "PostgreSQL")
	}
	foot, room := y+curveHeight-40, float64(curveHeight-110)
	step := (curveWidth - 40) / len(c.points)
	bar := func(x int, v float64, color string) {
		h := int(v / max(most, 1e-9) * room)
		fmt.Fprintf(b, "<rect x=\"%d\" y=\"%d\" width=\"28\" height=\"%d\" fill=\"%s\"/>\n", x, foot-h, max(h, 1), color)
		text(x+14, foot-h-4, 11, "#222222", "middle", fmt.Sprintf("%.3g", v))
	}
	for i, p := range c.points {
		left := x + 20 + i*step
		bar(left, p.ours, "#3b6ea8")
		if two {
			bar(left+30, p.postgres, "#8a6d3b")
		}
		text(left, foot+16, 11, "#555555", "start", p.at)
	}
	text(x+20, foot+32, 11, "#555555", "start", c.along)
}

// drawn writes the picture where it was asked for.
func drawn() {
	if !*draw || len(curves.all) == 0 {
		return
	}
	if err := os.WriteFile(picture, []byte(curves.svg()), 0o644); err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
}

func unitID(unit string) lab.UnitID { return lab.UnitID{Lab: benchLab, Unit: unit} }
