package report

import (
	"bytes"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"wetside/internal/lab"
	"wetside/internal/printable"
)

// Page sizes, millimetres (A4).
const (
	pageW  = 210.0
	pageH  = 297.0
	margin = 15.0
	footH  = 12.0
	mmPt   = 25.4 / 72
)

// font is the family's name within the document: Liberation Sans, under the
// SIL Open Font License.
const font = "Liberation Sans"

// PDF writes the report as a document: A4, the drawing as vector graphics,
// text that can be searched. The same report gives the same bytes.
func PDF(w io.Writer, r lab.Report, o Options) error {
	pages := 0
	for range 2 { // once to count the pages, once to number them
		p := newPDF(r, o, pages)
		p.report()
		if err := p.Error(); err != nil {
			return fmt.Errorf("report of run %s as PDF: %w", r.Run.ID, err)
		}
		if pages == p.PageCount() {
			return p.writeTo(w)
		}
		pages = p.PageCount()
	}
	p := newPDF(r, o, pages)
	p.report()
	return p.writeTo(w)
}

// pdfDocument is a PDF in the making.
type pdfDocument struct {
	*fpdf.Fpdf
	r     lab.Report
	o     Options
	pages int
}

// drawable is a text as it is read in the reader's units.
func (p *pdfDocument) drawable(text string) string { return printable.Text(p.o.Units.Read(text)) }

// MultiCell writes as Fpdf does, what the fonts can show.
func (p *pdfDocument) MultiCell(w, h float64, text, border, align string, fill bool) {
	p.Fpdf.MultiCell(w, h, p.drawable(text), border, align, fill)
}

// CellFormat writes as Fpdf does, what the fonts can show.
func (p *pdfDocument) CellFormat(w, h float64, text, border string, ln int, align string, fill bool, link int, linkStr string) {
	p.Fpdf.CellFormat(w, h, p.drawable(text), border, ln, align, fill, link, linkStr)
}

// Text writes as Fpdf does, what the fonts can show.
func (p *pdfDocument) Text(x, y float64, text string) { p.Fpdf.Text(x, y, p.drawable(text)) }

// GetStringWidth measures a text as it will be written.
func (p *pdfDocument) GetStringWidth(text string) float64 {
	return p.Fpdf.GetStringWidth(p.drawable(text))
}

func newPDF(r lab.Report, o Options, pages int) *pdfDocument {
	p := &pdfDocument{Fpdf: fpdf.New("P", "mm", "A4", ""), r: r, o: o, pages: pages}
	at := r.Run.StartedAt.Time
	if r.Run.EndedAt != nil {
		at = r.Run.EndedAt.Time
	}
	p.SetCatalogSort(true)
	p.SetCreationDate(at.UTC().Truncate(time.Second)) // the run's, not today's: the same bytes every time
	p.SetModificationDate(at.UTC().Truncate(time.Second))
	p.SetProducer("wetside", true)
	p.SetTitle(printable.Text(fmt.Sprintf("Run %s on %s", r.Run.Run, r.UnitName)), true)
	p.SetLang("en")
	p.SetMargins(margin, margin, margin)
	p.SetAutoPageBreak(true, margin+footH)
	p.AddUTF8FontFromBytes(font, "", bytes.Clone(liberationsansregular.TTF))
	p.AddUTF8FontFromBytes(font, "B", bytes.Clone(liberationsansbold.TTF))
	p.SetFooterFunc(p.footer)
	p.SetHeaderFunc(p.header)
	p.AddPage()
	return p
}

func (p *pdfDocument) writeTo(w io.Writer) error {
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		return fmt.Errorf("report of run %s as PDF: %w", p.r.Run.ID, err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

func (p *pdfDocument) ink(c colour) {
	p.SetTextColor(int(c[0]), int(c[1]), int(c[2]))
}

// header stands on every page but the first.
func (p *pdfDocument) header() {
	if p.PageNo() == 1 {
		return
	}
	p.SetFont(font, "", 8)
	p.ink(soft)
	p.CellFormat(0, 5, fmt.Sprintf("Run %s on %s, %s", p.r.Run.Run, p.r.UnitName, p.o.day(p.r.Run.StartedAt)), "", 1, "L", false, 0, "")
	p.Ln(2)
}

func (p *pdfDocument) footer() {
	p.SetY(-margin - 4)
	p.SetFont(font, "", 8)
	p.ink(soft)
	left := "wetside advises; it is no safety device. A person looks at the film."
	p.CellFormat(0, 4, left, "", 0, "L", false, 0, "")
	p.SetX(margin)
	right := fmt.Sprintf("Page %d of %d", p.PageNo(), max(p.pages, p.PageNo()))
	p.CellFormat(0, 4, right, "", 0, "R", false, 0, "")
}

// draw puts the picture into the page below what was written, as wide as the
// page allows.
func (p *pdfDocument) draw(d *picture) {
	k := (pageW - 2*margin) / d.W // millimetres a point
	h := d.H * k
	x0, y0 := margin, p.GetY()
	p.SetLineJoinStyle("round")
	for _, it := range d.items {
		p.item(it, x0, y0, k)
	}
	p.SetDashPattern(nil, 0)
	p.SetY(y0 + h + 2)
}

func (p *pdfDocument) item(it item, x0, y0, k float64) {
	at := func(q point) (float64, float64) { return x0 + q.x*k, y0 + q.y*k }
	if it.kind == itemText {
		p.drawText(it, x0, y0, k)
		return
	}
	how := ""
	if c := it.style.fill; c != nil {
		p.SetFillColor(int(c[0]), int(c[1]), int(c[2]))
		how += "F"
	}
	if c := it.style.stroke; c != nil {
		p.SetDrawColor(int(c[0]), int(c[1]), int(c[2]))
		p.SetLineWidth(it.style.width * k)
		how += "D"
	}
	p.SetDashPattern(nil, 0)
	if it.style.dash {
		p.SetDashPattern([]float64{2 * k, 2 * k}, 0)
	}
	if it.kind == itemRing {
		x, y := at(it.pts[0])
		p.Circle(x, y, it.r*k, how)
		return
	}
	p.MoveTo(at(it.pts[0]))
	for _, q := range it.pts[1:] {
		p.LineTo(at(q))
	}
	if it.kind == itemArea {
		p.ClosePath()
	}
	p.DrawPath(how)
}

func (p *pdfDocument) drawText(it item, x0, y0, k float64) {
	weight := ""
	if it.bold {
		weight = "B"
	}
	p.SetFont(font, weight, it.size*k/mmPt)
	p.ink(*it.style.fill)
	x, y := x0+it.pts[0].x*k, y0+it.pts[0].y*k
	switch it.anchor {
	case atMiddle:
		x -= p.GetStringWidth(it.text) / 2
	case atEnd:
		x -= p.GetStringWidth(it.text)
	}
	p.Text(x, y, it.text)
}

// needRoom begins a new page where less than mm are left on this one.
func (p *pdfDocument) needRoom(mm float64) {
	if p.GetY()+mm > pageH-margin-footH {
		p.AddPage()
	}
}

func (p *pdfDocument) heading(text string) {
	p.needRoom(22)
	p.Ln(3)
	p.SetFont(font, "B", 11)
	p.ink(ink)
	p.MultiCell(0, 6, text, "", "L", false)
	p.Ln(0.5)
}

func (p *pdfDocument) para(text string) {
	if text == "" {
		return
	}
	p.SetFont(font, "", 9.5)
	p.ink(ink)
	p.MultiCell(0, 4.6, text, "", "L", false)
}

// entry is a line with a bold head and what stands under it, indented.
func (p *pdfDocument) entry(head string, under ...string) {
	p.needRoom(14)
	p.SetFont(font, "B", 9.5)
	p.ink(ink)
	p.MultiCell(0, 4.8, head, "", "L", false)
	p.SetLeftMargin(margin + 5)
	p.SetX(margin + 5)
	for _, u := range under {
		p.para(u)
	}
	p.SetLeftMargin(margin)
	p.SetX(margin)
	p.Ln(1)
}

func (p *pdfDocument) smallPrint(text string) {
	p.SetFont(font, "", 8)
	p.ink(soft)
	p.MultiCell(0, 3.9, text, "", "L", false)
}
