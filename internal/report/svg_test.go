package report

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"wetside/internal/lab"
)

// SVG writes the drawing of a run: its timeline with the temperature inside
// each step's limits.
func SVG(w io.Writer, r lab.Report, o Options) error {
	_, err := w.Write(drawRun(r, o).svg())
	return err
}

// svg is the drawing as a document of its own: no script, no outside font.
func (d *picture) svg() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" role="img" aria-label="%s" font-family="'Liberation Sans', Arial, Helvetica, sans-serif">`+"\n",
		num(d.W), num(d.H), escaped(d.Title))
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", escaped(d.Title), escaped(d.Desc))
	fmt.Fprintf(&b, "<rect width=\"%s\" height=\"%s\" fill=\"%s\"/>\n", num(d.W), num(d.H), paper.hex())
	for _, it := range d.items {
		it.svg(&b)
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

func (it item) svg(b *bytes.Buffer) {
	switch it.kind {
	case itemText:
		fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s" fill="%s"`, num(it.pts[0].x), num(it.pts[0].y), num(it.size), it.style.fill.hex())
		if it.anchor != atStart {
			fmt.Fprintf(b, ` text-anchor="%s"`, [...]string{"start", "middle", "end"}[it.anchor])
		}
		if it.bold {
			b.WriteString(` font-weight="bold"`)
		}
		fmt.Fprintf(b, ">%s</text>\n", escaped(it.text))
	case itemRing:
		fmt.Fprintf(b, `<circle cx="%s" cy="%s" r="%s"%s/>`+"\n", num(it.pts[0].x), num(it.pts[0].y), num(it.r), it.style.svg())
	default:
		var p strings.Builder
		for i, q := range it.pts {
			if i > 0 {
				p.WriteByte(' ')
			}
			p.WriteString(num(q.x) + "," + num(q.y))
		}
		name := "polyline"
		if it.kind == itemArea {
			name = "polygon"
		}
		fmt.Fprintf(b, `<%s points="%s"%s/>`+"\n", name, p.String(), it.style.svg())
	}
}

func (s style) svg() string {
	out := ` fill="none"`
	if s.fill != nil {
		out = ` fill="` + s.fill.hex() + `"`
	}
	if s.stroke != nil {
		out += ` stroke="` + s.stroke.hex() + `" stroke-width="` + num(s.width) + `" stroke-linejoin="round"`
	}
	if s.dash {
		out += ` stroke-dasharray="2 2"`
	}
	return out
}

func escaped(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // a buffer takes everything
	return b.String()
}
