package report

import (
	"bytes"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/printable"
)

// What the fonts lack is replaced, and never fails a report: whatever stands
// in names, notes, film names and orders, a PDF comes out.
func TestAnyTextMakesAPDF(t *testing.T) {
	t.Parallel()
	for name, text := range map[string]string{
		"CJK":              "富士フイルム 感度400 胶片",
		"emoji":            "roll 🎞️ of Ada 👩‍🔬",
		"right to left":    "סרט שחור לבן \u202eمرحبا\u202c",
		"combining marks":  "e\u0301 Z\u0351\u036b\u0343\u036a\u0302\u036b\u033d",
		"zero byte":        "a\x00b\x01\x1b[31mred",
		"no UTF-8":         "caf\xe9 \xff\xfe",
		"10,000 letters":   strings.Repeat("x", 10_000),
		"long words":       strings.Repeat("Überlänge ", 2_000),
		"above the planes": "\U0010ffff \ufffe \uffff",
		"nothing":          "",
	} {
		r := smallReport()
		r.UnitName = text
		r.Run.Run = text
		r.Run.Rolls = []lab.Roll{{TwinCheck: text, Film: text, Format: text, Order: text, Note: text}}
		r.Run.Decision.Note, r.Run.Decision.By = text, text
		r.Run.Reasons[0].Text = text
		r.Alerts[0].Message = text
		var b bytes.Buffer
		if err := PDF(&b, r, Options{}); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")) || b.Len() < 10_000 {
			t.Errorf("%s: %d bytes that are no document", name, b.Len())
		}
	}
	for in, want := range map[string]string{
		"Héron №2, 38.6 °C":   "Héron №2, 38.6 °C",
		"Ωμέγα Жук ŝ €":       "Ωμέγα Жук ŝ €",
		"富a🎞":                 "□a□",
		"a\x00b\u202ec\td\ne": "abc d\ne",
		"\xff":                "□",
	} {
		if got := printable.Text(in); got != want {
			t.Errorf("%q is shown as %q; want %q", in, got, want)
		}
	}
	if got := []rune(printable.Text(strings.Repeat("x", 10_000))); len(got) > printable.Longest+3 {
		t.Errorf("10,000 letters are shown as %d", len(got))
	}
}
