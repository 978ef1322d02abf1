package process

import (
	"math"
	"testing"
)

// The developer of C-41 has times for -1 to +2 (Z-131 by way of the sheet:
// 165, 195, 225 and 255 s). For another push it is said on which side the
// film surely came out and by how much at least; half a stop beyond the
// table's ends nothing more is known.
func TestSideOfUnknownPush(t *testing.T) {
	sheet, _ := Builtin().Sheet("c41")
	dev, _ := sheet.Step("developer")
	for _, c := range []struct {
		name  string
		eqS   float64
		push  float64
		side  int
		bound float64
		ok    bool
	}{
		{"wanted +3, got +1", 225, 3, -1, -2, true},
		{"wanted +3, got far too little", 60, 3, -1, -3.5 - 1, true},
		{"wanted +3, got more than is known", 400, 3, 0, 0, false},
		{"wanted -2, got normal", 195, -2, 1, 2, true},
		{"wanted -2, got less than is known", 60, -2, 1, 0.5, true},
	} {
		side, bound, ok := dev.SideOfUnknown(Range{c.eqS, c.eqS, c.eqS}, c.push, 0)
		if side != c.side || math.Abs(bound-c.bound) > 1e-9 || ok != c.ok {
			t.Errorf("%s: side %d by %g, %v; want %d by %g, %v", c.name, side, bound, ok, c.side, c.bound, c.ok)
		}
	}
}
