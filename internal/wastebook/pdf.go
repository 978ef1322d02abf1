package wastebook

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"wetside/internal/lab"
	"wetside/internal/printable"
)

const (
	font   = "Liberation Sans" // under the SIL Open Font License
	margin = 12.0              // mm
	pageW  = 297.0             // A4, lying
	pageH  = 210.0
)

// Sheet is the log on paper.
type Sheet struct {
	Log
	Site     string
	From, To time.Time
	Made     time.Time
	MadeBy   string
	Units    lab.Units
	Zone     *time.Location
	Names    map[string]string // what people call a unit
}

// PDF writes the log as a document that an inspector can read: the lines with
// their corrections, the totals of each month, what is missing. The same log
// made at the same moment gives the same bytes.
func PDF(w io.Writer, s Sheet) error {
	pages := 0
	for range 2 { // once to count the pages, once to number them
		d := newDocument(s, pages)
		d.body()
		if err := d.Error(); err != nil {
			return fmt.Errorf("waste log as PDF: %w", err)
		}
		if pages != d.PageCount() {
			pages = d.PageCount()
			continue
		}
		return d.Output(w)
	}
	d := newDocument(s, pages)
	d.body()
	return d.Output(w)
}

type document struct {
	*fpdf.Fpdf
	s     Sheet
	pages int
}

func newDocument(s Sheet, pages int) *document {
	d := &document{Fpdf: fpdf.New("L", "mm", "A4", ""), s: s, pages: pages}
	d.SetCatalogSort(true)
	d.SetCreationDate(s.Made.UTC().Truncate(time.Second))
	d.SetModificationDate(s.Made.UTC().Truncate(time.Second))
	d.SetProducer("wetside", true)
	d.SetTitle(printable.Text(d.title()), true)
	d.SetLang("en")
	d.SetMargins(margin, margin, margin)
	d.SetAutoPageBreak(true, margin+8)
	d.AddUTF8FontFromBytes(font, "", bytes.Clone(liberationsansregular.TTF))
	d.AddUTF8FontFromBytes(font, "B", bytes.Clone(liberationsansbold.TTF))
	d.SetFooterFunc(d.footer)
	d.AddPage()
	return d
}

func (d *document) title() string {
	return fmt.Sprintf("Waste log, %s to %s", d.day(d.s.From), d.day(d.s.To.Add(-time.Second)))
}

func (d *document) day(t time.Time) string { return t.In(d.s.Zone).Format(time.DateOnly) }

func (d *document) footer() {
	d.SetY(-margin - 2)
	d.write("", 8)
	d.CellFormat(0, 4, fmt.Sprintf("Made %s by %s with wetside. %s", d.s.Made.In(d.s.Zone).Format("2006-01-02 15:04"), printable.Text(d.s.MadeBy), "Local rules decide; ask your sewer authority."), "", 0, "L", false, 0, "")
	d.SetX(margin)
	d.CellFormat(0, 4, fmt.Sprintf("Page %d of %d", d.PageNo(), max(d.pages, d.PageNo())), "", 0, "R", false, 0, "")
}

func (d *document) write(weight string, size float64) { d.SetFont(font, weight, size) }

func (d *document) para(weight string, size float64, text string) {
	d.write(weight, size)
	d.MultiCell(0, size*0.48, printable.Text(text), "", "L", false)
}

func (d *document) body() {
	d.para("B", 16, d.title())
	if d.s.Site != "" {
		d.para("", 11, d.s.Site)
	}
	d.Ln(2)
	d.para("", 9, "Lines that were corrected or removed stay: the earlier version stands above the later one, marked \"corrected\". Liters marked e are estimated from the container's level at that moment, those marked p a person said.")
	d.lines()
	d.months()
	d.missing()
}

// columnsOnPaper are the columns with their widths, mm; in all 273.
var columnsOnPaper = []struct {
	head string
	w    float64
}{{"when", 27}, {"what", 34}, {"stream", 22}, {"volume", 19}, {"where to, drum, since", 48}, {"hauler, manifest", 34}, {"silver", 24}, {"by", 22}, {"note", 43}}

func (d *document) lines() {
	d.heading("Emptyings and weekly checks")
	if len(d.s.Rows) == 0 {
		d.para("", 9, "None was written in this time.")
		return
	}
	d.head()
	for i := len(d.s.Rows) - 1; i >= 0; i-- {
		r := d.s.Rows[i]
		for _, v := range r.Versions {
			if v.Version < r.Version {
				old := r
				old.WasteLine, old.At, old.By = v.WasteLine, v.At, v.By
				d.line(old, "corrected: ")
			}
		}
		mark := ""
		if r.Removed {
			mark = "removed: "
		}
		d.line(r, mark)
	}
}

func (d *document) heading(text string) {
	if d.GetY() > pageH-margin-35 {
		d.AddPage()
	}
	d.Ln(3)
	d.para("B", 12, text)
	d.Ln(1)
}

func (d *document) head() {
	d.write("B", 8.5)
	for _, c := range columnsOnPaper {
		d.CellFormat(c.w, 5, c.head, "B", 0, "L", false, 0, "")
	}
	d.Ln(5)
}

func (d *document) line(r WasteRow, mark string) {
	cells := d.cells(r, mark)
	d.write("", 8.5)
	rows, split := 1, make([][]string, len(cells))
	for i, c := range cells {
		split[i] = d.SplitText(printable.Text(c), columnsOnPaper[i].w-1.5)
		rows = max(rows, len(split[i]))
	}
	h := 3.9*float64(rows) + 1.2
	if d.GetY()+h > pageH-margin-8 {
		d.AddPage()
		d.head()
		d.write("", 8.5)
	}
	y := d.GetY()
	x := margin
	for i, lines := range split {
		for k, l := range lines {
			d.SetXY(x, y+0.6+3.9*float64(k))
			d.CellFormat(columnsOnPaper[i].w, 3.9, l, "", 0, "L", false, 0, "")
		}
		x += columnsOnPaper[i].w
	}
	d.SetDrawColor(200, 200, 200)
	d.Line(margin, y+h, pageW-margin, y+h)
	d.SetDrawColor(0, 0, 0)
	d.SetXY(margin, y+h)
}

func (d *document) cells(r WasteRow, mark string) []string {
	name := cmp.Or(d.s.Names[r.Unit], r.Unit)
	what, by := mark+"emptied "+strings.TrimSpace(name+" "+r.Container), r.By
	if r.What == lab.WasteCheck {
		what, by = mark+"weekly check", strings.Trim(r.Initials+", "+r.By, ", ")
		if r.OK != nil {
			what += map[bool]string{true: ": in order", false: ": not in order"}[*r.OK]
		}
	}
	stream := ""
	if r.What == lab.WasteEmptied {
		stream = cmp.Or(r.Stream, "not said")
	}
	to := joined(r.To, r.Drum)
	if r.Since != nil {
		to = joined(to, "since "+d.day(r.Since.Time))
	}
	silver := r.SilverHow
	if r.SilverMgL != nil {
		silver = joined(fmt.Sprintf("%g mg/L", *r.SilverMgL), r.SilverHow)
	}
	return []string{r.At.In(d.s.Zone).Format("2006-01-02 15:04"), what, stream, d.volume(r), to, joined(r.Hauler, r.Manifest), silver, by, r.Note}
}

func joined(parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, ", ")
}

func (d *document) volume(r WasteRow) string {
	switch {
	case r.What != lab.WasteEmptied:
		return ""
	case r.Litres == nil:
		return "not known"
	}
	return d.s.Units.Read(fmt.Sprintf("%.1f L", *r.Litres)) + map[string]string{lab.LitresEstimate: " e", lab.LitresPerson: " p"}[r.LitresBy]
}

func (d *document) months() {
	d.heading("Totals by month")
	for _, m := range d.s.Months {
		text := fmt.Sprintf("%s, %s: %s in %d emptyings", m.Month, StreamWords[m.Stream], d.s.Units.Read(fmt.Sprintf("%.1f L", m.Litres)), m.Times)
		if m.Unknown > 0 {
			text += fmt.Sprintf("; %d of them without liters, so at least that much", m.Unknown)
		}
		d.para("", 9.5, text)
	}
}

func (d *document) missing() {
	d.heading("Not written")
	if len(d.s.Gaps) == 0 {
		d.para("", 9.5, "Nothing is missing.")
	}
	for _, g := range d.s.Gaps {
		d.para("", 9.5, g.Text)
	}
}
