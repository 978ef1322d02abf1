package main

import (
	"bytes"
	"io"
	"os"
)

// forTerminal gives a writer that shows control characters to a terminal as
// question marks: what a unit or a stranger called something must not move the
// cursor or color the screen of who lists it. What goes to a file or a pipe is
// left as it is.
func forTerminal(f *os.File) io.Writer {
	if st, err := f.Stat(); err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return f
	}
	return plainWriter{f}
}

// plainWriter replaces control characters other than the ends of lines and
// tabulators.
type plainWriter struct{ to io.Writer }

// Write implements io.Writer.
func (w plainWriter) Write(b []byte) (int, error) {
	if _, err := w.to.Write(plainBytes(b)); err != nil {
		return 0, err
	}
	return len(b), nil
}

func plainBytes(b []byte) []byte {
	out := bytes.Clone(b)
	for i, c := range out {
		switch {
		case c < ' ' && c != '\n' && c != '\t' && c != '\r', c == 0x7f:
			out[i] = '?'
		case c >= 0x80 && c < 0xa0 && i > 0 && b[i-1] == 0xc2: // C1, in UTF-8
			out[i-1], out[i] = '?', '?'
		}
	}
	return out
}
