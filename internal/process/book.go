package process

import "maps"

// With gives a book in which s stands in place of the sheet of its id: for a
// sheet that was kept with a run's record.
func (b *Book) With(s *Sheet) *Book {
	out := *b
	out.sheets = maps.Clone(b.sheets)
	out.sheets[s.ID] = s
	return &out
}
