package main

import (
	"bytes"
	"testing"
)

// Escape sequences, single-byte or C1, do not reach a terminal; letters do.
func TestPlainWriter(t *testing.T) {
	for in, want := range map[string]string{
		"Plover\tok\r\n":        "Plover\tok\r\n",
		"\x1b[31mred\x07\x00":   "?[31mred??",
		"Zaunkönig – 37.8 °C":   "Zaunkönig – 37.8 °C",
		"a\u009b31m\u0085b\x7f": "a??31m??b?",
	} {
		var b bytes.Buffer
		n, err := plainWriter{&b}.Write([]byte(in))
		if got := b.String(); got != want || n != len(in) || err != nil {
			t.Errorf("%q is shown as %q (%d, %v); want %q", in, got, n, err, want)
		}
	}
}
