package process

import "maps"

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
