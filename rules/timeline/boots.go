package timeline

import (
	"bytes"
	"crypto/sha256"
	"slices"

	"wetside/internal/lab"
)

// boot is one start of a unit's controller.
type boot struct {
	ID      string         `json:"id"`
	First   bool           `json:"first,omitempty"` // the first ever received of the unit: what was sent before it is not missing
	Next    int64          `json:"next"`            // the next seq to fold
	Pending []*lab.Message `json:"pending,omitempty"`
	Gaps    []lab.Gap      `json:"gaps,omitempty"` // holes that were given up, and may still be filled
	Base    int64          `json:"base,omitempty"` // the first seq folded of the First boot
}

func (o *order) boot(id string) (*boot, int) {
	i := slices.IndexFunc(o.Boots, func(b *boot) bool { return b.ID == id })
	if i < 0 {
		return nil, -1
	}
	return o.Boots[i], i
}

// addGaps notes holes that were given up. Beyond the cap the oldest are forgotten:
// what fills them later is stored, and nothing is folded again for it.
func (b *boot) addGaps(gaps []lab.Gap) { b.Gaps = lab.LastOf(append(b.Gaps, gaps...), gapsKept) }

// forget drops the boots that end before a place, but keeps the last few.
func (o *order) forget(before place) {
	n := min(len(o.Boots)-bootsKept, before.Boot-o.Forgot, o.At)
	if n <= 0 {
		return
	}
	for _, b := range o.Boots[:n] {
		o.ForgottenMarks = append(o.ForgottenMarks, bootMark(b.ID)...)
	}
	o.ForgottenMarks = lab.LastOf(o.ForgottenMarks, goneKept*goneMark)
	o.Boots = slices.Clone(o.Boots[n:])
	o.Forgot, o.At = o.Forgot+n, o.At-n
}

// crowded tells whether more boots are kept than a unit in order needs.
func (o *order) crowded() bool { return len(o.Boots) > 2*bootsKept && o.At >= bootsKept }

func (o *order) forgotten(id string) bool {
	for mark, rest := bootMark(id), o.ForgottenMarks; len(rest) >= goneMark; rest = rest[goneMark:] {
		if bytes.Equal(rest[:goneMark], mark) {
			return true
		}
	}
	return false
}

func bootMark(id string) []byte {
	sum := sha256.Sum256([]byte(id))
	return sum[:goneMark]
}

// begin opens the timeline of a boot, with what a retained copy told of it.
func (o *order) begin(m *lab.Message) (*boot, int) {
	b := &boot{ID: m.Boot, Next: 1, First: len(o.Boots) == 0}
	if b.First {
		b.Next = m.Seq
	}
	o.Boots = append(o.Boots, b)
	for _, k := range o.Kept {
		if k.Boot == b.ID && !b.First && k.Seq != m.Seq {
			b.Pending = append(b.Pending, k)
		}
	}
	o.Kept = nil
	return b, len(o.Boots) - 1
}
