package report

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// A report on paper or in a terminal is read in the lab's units whole: texts,
// table and drawing. A figure of degrees Celsius anywhere in it would be one
// that was passed by.
func TestReportsAreReadInTheLabsUnits(t *testing.T) {
	us := Options{Units: lab.Units{Temperature: "f", Volume: "gal"}}
	for name, r := range reports() {
		for form, write := range map[string]func(w io.Writer, o Options) error{
			"text": func(w io.Writer, o Options) error { return Text(w, r, o) },
			"pdf":  func(w io.Writer, o Options) error { return PDF(w, r, o) },
			"svg":  func(w io.Writer, o Options) error { return SVG(w, r, o) },
		} {
			read := words(written(t, func(w io.Writer) error { return write(w, us) }))
			if i := strings.Index(read, "°C"); i >= 0 {
				t.Errorf("%s as %s: °C in %q", name, form, read[max(0, i-40):i+3])
			}
			if plain := words(written(t, func(w io.Writer) error { return write(w, Options{}) })); strings.Contains(plain, "°C") != strings.Contains(read, "°F") {
				t.Errorf("%s as %s: °C stands in the one and °F not in the other", name, form)
			}
		}
	}
	if s := string(written(t, func(w io.Writer) error { return SVG(w, smallReport(), us) })); !strings.Contains(s, "too warm, 70.92 °F") { // 21.62 °C
		t.Error("the drawing does not say 70.92 °F")
	}
}

var pdfText = regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`)

// words are those of a document; of a PDF those of its pages, which stand in
// it as two bytes a letter.
func words(b []byte) string {
	if !bytes.HasPrefix(b, []byte("%PDF")) {
		return string(b)
	}
	var all strings.Builder
	for _, m := range pdfText.FindAllSubmatch(b, -1) {
		z, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue
		}
		s, err := io.ReadAll(z)
		if err != nil || bytes.Contains(s, []byte("begincmap")) || !bytes.Contains(s, []byte(" Tj")) {
			continue
		}
		s = bytes.ReplaceAll(s, []byte("\x00\xb0\x00"), []byte("°"))
		all.Write(bytes.ReplaceAll(s, []byte{0}, nil))
	}
	return all.String()
}
