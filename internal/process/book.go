package process

import (
	"maps"
	"slices"
)

// With gives a book in which s stands in place of the sheet of its id, and
// each developer in place of the one of its id: for what was kept with a
// run's record.
func (b *Book) With(s *Sheet, developers ...*Developer) *Book {
	out := *b
	out.sheets, out.developers = maps.Clone(b.sheets), maps.Clone(b.developers)
	if out.developers == nil {
		out.developers = map[string]*Developer{}
	}
	out.sheets[s.ID] = s
	for _, d := range developers {
		out.developers[d.ID] = d
	}
	return &out
}

// Book is a set of sheets by process id and of developers. Read only once
// loaded.
type Book struct {
	sheets     map[string]*Sheet
	developers map[string]*Developer
}

// Sheet finds a sheet.
func (b *Book) Sheet(id string) (*Sheet, bool) {
	if b == nil {
		return nil, false
	}
	s, ok := b.sheets[id]
	return s, ok
}

// IDs lists the process ids, sorted.
func (b *Book) IDs() []string { return slices.Sorted(maps.Keys(b.sheets)) }

// Developers lists the developers by id.
func (b *Book) Developers() []*Developer {
	if b == nil {
		return nil
	}
	var out []*Developer
	for _, id := range slices.Sorted(maps.Keys(b.developers)) {
		out = append(out, b.developers[id])
	}
	return out
}

// Developer finds a developer.
func (b *Book) Developer(id string) (*Developer, bool) {
	if b == nil {
		return nil, false
	}
	d, ok := b.developers[id]
	return d, ok
}
