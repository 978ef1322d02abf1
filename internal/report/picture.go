package report

import (
	"fmt"
	"strconv"
	"strings"
)

// picture is a picture in points (1/72 inch), y downward. SVG and PDF are
// written from the same one.
type picture struct {
	W, H        float64
	Title, Desc string
	items       []item
}

// What an item is.
const (
	itemLine = iota // through the points
	itemArea        // closed through the points
	itemText        // at the first point
	itemRing        // around the first point
)

type item struct {
	kind   int
	pts    []point
	style  style
	text   string
	size   float64
	anchor anchor
	bold   bool
	r      float64
}

type point struct{ x, y float64 }

// anchor is which part of a text stands at its point.
type anchor int

const (
	atStart anchor = iota
	atMiddle
	atEnd
)

// colour is red, green, blue.
type colour [3]uint8

// Calm greys; one colour, for what is out of order.
var (
	ink     = colour{0x22, 0x2a, 0x30}
	soft    = colour{0x6b, 0x75, 0x7d}
	rule    = colour{0xc9, 0xcf, 0xd4}
	limits  = colour{0xe9, 0xed, 0xef}
	usual   = colour{0xd3, 0xda, 0xde}
	barFill = colour{0xb7, 0xc0, 0xc6}
	alarm   = colour{0xa8, 0x32, 0x1e}
	paper   = colour{0xff, 0xff, 0xff}
)

func (c colour) hex() string { return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]) }

// style is how an item is drawn; a nil colour leaves stroke or fill out.
type style struct {
	stroke *colour
	fill   *colour
	width  float64
	dash   bool
}

func stroke(c colour, width float64) style { return style{stroke: &c, width: width} }
func fill(c colour) style                  { return style{fill: &c} }

func (d *picture) line(s style, pts ...point) {
	if len(pts) > 1 {
		d.items = append(d.items, item{kind: itemLine, pts: pts, style: s})
	}
}

func (d *picture) area(s style, pts ...point) {
	if len(pts) > 2 {
		d.items = append(d.items, item{kind: itemArea, pts: pts, style: s})
	}
}

func (d *picture) rect(s style, x0, y0, x1, y1 float64) {
	d.area(s, point{x0, y0}, point{x1, y0}, point{x1, y1}, point{x0, y1})
}

func (d *picture) ring(s style, at point, r float64) {
	d.items = append(d.items, item{kind: itemRing, pts: []point{at}, style: s, r: r})
}

func (d *picture) label(c colour, at point, size float64, a anchor, text string) {
	d.items = append(d.items, item{kind: itemText, pts: []point{at}, style: fill(c), text: text, size: size, anchor: a})
}

func (d *picture) bold(c colour, at point, size float64, a anchor, text string) {
	d.items = append(d.items, item{kind: itemText, pts: []point{at}, style: fill(c), text: text, size: size, anchor: a, bold: true})
}

// tag is a bold text on paper, so that it can be read over lines; it is kept
// between x0 and x1.
func (d *picture) tag(c colour, at point, x0, x1 float64, size float64, text string) {
	w := textWidth(text, size) * boldWider
	x := max(x0+1, min(at.x-w/2, x1-w-1))
	d.rect(fill(paper), x-1, at.y-size*0.82, x+w+1, at.y+size*0.25)
	d.bold(c, point{x + w/2, at.y}, size, atMiddle, text)
}

// boldWider is how much wider bold letters are.
const boldWider = 1.08

// hatch fills a rectangle with slanting lines, cut off at its edges.
func (d *picture) hatch(c colour, x0, y0, x1, y1 float64) {
	const gap = 4.0
	h := y1 - y0
	for x := x0 - h; x < x1; x += gap {
		ax, ay, bx, by := x, y1, x+h, y0 // rising to the right
		if ax < x0 {
			ay -= x0 - ax
			ax = x0
		}
		if bx > x1 {
			by += bx - x1
			bx = x1
		}
		if ax < bx {
			d.line(stroke(c, 0.5), point{ax, ay}, point{bx, by})
		}
	}
}

// textWidth estimates the width of a text: enough to tell whether it fits.
func textWidth(text string, size float64) float64 {
	w := 0.0
	for _, r := range text {
		switch r {
		case 'i', 'j', 'l', '.', ',', ':', ';', '\'', ' ', 't', 'f', 'I', '-', 'r':
			w += 0.3
		case 'm', 'w', 'M', 'W', '%', '@':
			w += 0.84
		default:
			w += 0.555
		}
	}
	return w * size
}

// num writes a number to the hundredth of a point.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}
