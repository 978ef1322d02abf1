// Package printable knows what the program's documents can show: the letters that
// their fonts have. It is pure, and safe for concurrent use.
package printable

import (
	"encoding/binary"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansregular"
)

// missing stands for a letter that the fonts do not have.
const missing = '\u25a1' // a white square, which they have

// Longest is how many letters of one text a document shows: a note may be of
// any length, and a page must come out of it all the same.
const Longest = 2000

// glyphs are the letters that the document's fonts have, by their own table.
var glyphs = sync.OnceValue(func() []bool { return lettersOf(liberationsansregular.TTF) })

// Text is a text as the document can show it: what the fonts lack is
// replaced, control characters are left out, and what never ends is cut.
func Text(text string) string {
	have := glyphs()
	var b strings.Builder
	n := 0
	for _, r := range text {
		if n++; n > Longest {
			b.WriteString(" …")
			break
		}
		switch {
		case r == '\n':
			b.WriteRune(r)
		case r == '\t', unicode.Is(unicode.Zs, r):
			b.WriteByte(' ')
		case unicode.Is(unicode.C, r): // control and format: the direction of writing among them
		case r != utf8.RuneError && int(r) < len(have) && have[r]:
			b.WriteRune(r)
		case unicode.Is(unicode.M, r): // an accent that cannot be drawn
		default:
			b.WriteRune(missing)
		}
	}
	return b.String()
}

// lettersOf reads which letters of the basic plane a TrueType font has: table
// cmap, format 4, as the OpenType specification describes it (from memory).
func lettersOf(ttf []byte) []bool {
	have := make([]bool, 1<<16)
	u16 := func(at int) int {
		if at < 0 || at+2 > len(ttf) {
			return 0
		}
		return int(binary.BigEndian.Uint16(ttf[at:]))
	}
	u32 := func(at int) int { return u16(at)<<16 | u16(at+2) }
	cmap := -1
	for i := range u16(4) {
		if at := 12 + 16*i; at+16 <= len(ttf) && string(ttf[at:at+4]) == "cmap" {
			cmap = u32(at + 8)
		}
	}
	if cmap < 0 {
		return have
	}
	for i := range u16(cmap + 2) {
		sub := cmap + u32(cmap+4+8*i+4)
		if u16(sub) != 4 {
			continue
		}
		segments := u16(sub+6) / 2
		ends := sub + 14
		starts := ends + 2*segments + 2
		deltas := starts + 2*segments
		offsets := deltas + 2*segments
		for s := range segments {
			start, end := u16(starts+2*s), u16(ends+2*s)
			for c := start; c <= end && c < 0xffff; c++ {
				glyph := c
				if offset := u16(offsets + 2*s); offset != 0 {
					glyph = u16(offsets + 2*s + offset + 2*(c-start))
					if glyph == 0 {
						continue
					}
				}
				have[c] = have[c] || (glyph+u16(deltas+2*s))&0xffff != 0
			}
		}
	}
	return have
}
