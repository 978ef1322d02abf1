package report

import (
	"bytes"
	"compress/zlib"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

var update = flag.Bool("update", false, "write the golden files anew")

func written(t testing.TB, f func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := f(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s (-want +got):\n%s", name, d)
	}
}

var inLisbon = Options{Zone: time.FixedZone("WEST", 3600)}

func TestGoldenText(t *testing.T) {
	golden(t, "small.txt", written(t, func(w io.Writer) error { return Text(w, smallReport(), inLisbon) }))
}

func TestGoldenSVG(t *testing.T) {
	golden(t, "small.svg", written(t, func(w io.Writer) error { return SVG(w, smallReport(), inLisbon) }))
}

func TestGoldenCSV(t *testing.T) {
	trace := []Row{
		{At: later(0), Step: "developer", N: 1, Phase: lab.PhaseHeating, PreheatC: p(19.5), RoomC: p(21.0)},
		{At: later(10 * time.Second), Step: "developer", N: 1, Phase: lab.PhaseInBath, BathC: p(20.05), RPM: p(50.0), LowC: p(19.7), HighC: p(20.3), EquivalentS: p(9.956)},
		{At: later(12500 * time.Millisecond), Step: `odd, "step"`, N: 2, Phase: lab.PhaseWaiting, RoomC: p(-0.5)},
	}
	b := written(t, func(w io.Writer) error { return CSV(w, trace) })
	golden(t, "small.csv", b)
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll() // RFC 4180, by the standard library's own reader
	if err != nil || len(rows) != 4 || len(rows[0]) != len(csvHeader) || rows[3][1] != `odd, "step"` {
		t.Errorf("read back: %v %v", rows, err)
	}
}

// reports are the small, the large and those with next to nothing in them.
func reports() map[string]lab.Report {
	nothing := lab.Report{Run: lab.Run{ID: "x", Run: "x", Process: "house", StartedAt: later(0), Outcome: lab.OutcomeLost}}
	nothing.Timeline.From, nothing.Timeline.To = later(0), later(0)
	running := smallReport()
	running.Run.EndedAt, running.Run.Verdict, running.Run.Outcome, running.Run.Decision = nil, nil, lab.OutcomeRunning, nil
	running.Timeline.Steps[1].EndedAt = nil
	running.Run.Steps[1].TimeS = nil
	unlimited := smallReport()
	for i := range unlimited.Timeline.Steps {
		unlimited.Timeline.Steps[i].LowC, unlimited.Timeline.Steps[i].HighC, unlimited.Timeline.Steps[i].PlannedS = nil, nil, nil
	}
	silent := smallReport()
	silent.Timeline.Bath = nil
	return map[string]lab.Report{"small": smallReport(), "large": largeReport(), "nothing": nothing, "running": running, "unlimited": unlimited, "silent": silent}
}

// Every report can be shown in every form, twice the same.
func TestEveryForm(t *testing.T) {
	for name, r := range reports() {
		for form, f := range map[string]func(io.Writer) error{
			"text": func(w io.Writer) error { return Text(w, r, Options{}) },
			"json": func(w io.Writer) error { return JSON(w, r) },
			"svg":  func(w io.Writer) error { return SVG(w, r, Options{}) },
			"pdf":  func(w io.Writer) error { return PDF(w, r, Options{}) },
		} {
			a := written(t, f)
			if b := written(t, f); !bytes.Equal(a, b) || len(a) < 100 {
				t.Errorf("%s as %s: %d and %d bytes, not the same twice", name, form, len(a), len(b))
			}
			if form == "pdf" {
				continue // its numbers are those of the drawing
			}
			if bytes.Contains(a, []byte("NaN")) || bytes.Contains(a, []byte("Inf")) {
				t.Errorf("%s as %s holds what is no number", name, form)
			}
		}
	}
}

func TestTextFitsTheTerminal(t *testing.T) {
	for name, r := range reports() {
		for i, l := range strings.Split(string(written(t, func(w io.Writer) error { return Text(w, r, Options{}) })), "\n") {
			if n := utf8.RuneCountInString(l); n > textW {
				t.Errorf("%s line %d has %d columns: %s", name, i+1, n, l)
			}
		}
	}
}

// What matters is in the text, however much there is.
func TestNothingIsLeftOut(t *testing.T) {
	r := largeReport()
	text := strings.Join(strings.Fields(string(written(t, func(w io.Writer) error { return Text(w, r, Options{}) }))), " ")
	want := []string{"Héron №2", "VERDICT: inspect", "+0.41", "Extend it by 2:10."}
	for _, x := range r.Run.Reasons {
		want = append(want, x.Text)
	}
	for _, l := range r.Look {
		want = append(want, strings.Join(strings.Fields(l.Look), " "))
	}
	for _, x := range r.Run.Rolls {
		want = append(want, x.TwinCheck, x.Order)
	}
	for _, a := range r.Alerts {
		want = append(want, a.Message)
	}
	want = append(want, r.Notes...)
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("%q is not in the text", w)
		}
	}
}

// The drawing lies within its frame, is well-formed XML, and says in words
// what it shows.
func TestDrawing(t *testing.T) {
	for name, r := range reports() {
		d := drawRun(r, Options{})
		if d.H < 100 || d.H > 700 {
			t.Errorf("%s: the drawing is %v high", name, d.H)
		}
		for _, it := range d.items {
			for _, q := range it.pts {
				if math.IsNaN(q.x+q.y) || q.x < -1 || q.x > d.W+1 || q.y < -1 || q.y > d.H+1 {
					t.Errorf("%s: %q at %v lies outside %v x %v", name, it.text, q, d.W, d.H)
				}
			}
		}
		dec, words := xml.NewDecoder(bytes.NewReader(d.svg())), ""
		for {
			tok, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if c, ok := tok.(xml.CharData); ok {
				words += string(c) + " "
			}
		}
		if name == "small" {
			for _, w := range []string{"planned", "happened", "stood still", "too warm, 21.62 °C", "3:20 short", "Verdict: inspect", "urgent"} {
				if !strings.Contains(words, w) {
					t.Errorf("%q is not in the drawing", w)
				}
			}
		}
	}
}

var (
	pdfStream = regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`)
	pdfPage   = regexp.MustCompile(`/Type /Page\b[^s]`)
)

// The PDF is one that holds vector lines and text that maps back to letters,
// with its pages numbered and no date but the run's.
func TestPDF(t *testing.T) {
	b := written(t, func(w io.Writer) error { return PDF(w, largeReport(), Options{}) })
	if !bytes.HasPrefix(b, []byte("%PDF-1.")) || !bytes.Contains(b, []byte("%%EOF")) {
		t.Fatal("not a PDF")
	}
	if n := len(pdfPage.FindAll(b, -1)); n < 3 || n > 8 {
		t.Errorf("%d pages", n)
	}
	if dates := regexp.MustCompile(`D:\d{14}`).FindAll(b, -1); len(dates) == 0 || string(dates[0]) != "D:20260302092200" {
		t.Errorf("dates %s, want the end of the run", dates)
	}
	toUnicode, lines, images := false, 0, bytes.Count(b, []byte("/Subtype /Image"))
	for _, m := range pdfStream.FindAllSubmatch(b, -1) {
		z, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue // not compressed
		}
		s, err := io.ReadAll(z)
		if err != nil {
			continue
		}
		toUnicode = toUnicode || bytes.Contains(s, []byte("begincmap"))
		lines += bytes.Count(s, []byte(" l\n"))
	}
	toUnicode = toUnicode || bytes.Contains(b, []byte("begincmap"))
	if !toUnicode || lines < 500 || images > 0 {
		t.Errorf("text maps to letters: %v; %d lines, %d images", toUnicode, lines, images)
	}
}

func TestWrapped(t *testing.T) {
	for _, tt := range []struct {
		in   string
		w    int
		want []string
	}{
		{"", 10, []string{""}},
		{"one two three", 7, []string{"one two", "three"}},
		{"37.8 °C ± 0.1", 7, []string{"37.8 °C", "± 0.1"}},
		{strings.Repeat("x", 12) + " y", 5, []string{"xxxxx", "xxxxx", "xx y"}},
	} {
		if got := wrapped(tt.in, tt.w); fmt.Sprint(got) != fmt.Sprint(tt.want) {
			t.Errorf("%q at %d: %q, want %q", tt.in, tt.w, got, tt.want)
		}
	}
}

func TestThirds(t *testing.T) {
	for v, want := range map[float64]string{0: "less than a third of a stop", 0.1: "less than a third of a stop", 0.34: "about 1/3 stop pushed", -0.7: "about 2/3 stop pulled",
		1: "about a stop pushed", 1.3: "about 1 1/3 stops pushed", -2: "about 2 stops pulled"} {
		if got := thirdsOfAStop(v); got != want {
			t.Errorf("%v: %q, want %q", v, got, want)
		}
	}
}
