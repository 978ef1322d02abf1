package words

import (
	"cmp"
	"fmt"
	"slices"
)

// Text is one text as it stands in a source. What is filled in when it is read
// stands as an ellipsis.
type Text struct {
	Place string `json:"-"` // where it is read, one of Places
	File  string `json:"file"`
	Line  int    `json:"line"`
	Says  string `json:"says"`
}

func (t Text) String() string { return fmt.Sprintf("%s:%d: %s", t.File, t.Line, t.Says) }

// hole stands for what is filled in when a text is read.
const hole = "…"

// All gives every text under root, a checkout, by place and file.
func All(root string) ([]Text, error) {
	var all []Text
	for _, from := range []func(string) ([]Text, error){ofGo, ofPages, ofData, ofGuides} {
		some, err := from(root)
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	for i := range all {
		if all[i].Place == "" {
			all[i].Place = placeOf(all[i].File)
		}
	}
	slices.SortStableFunc(all, func(a, b Text) int {
		return cmp.Or(slices.Index(Places, a.Place)-slices.Index(Places, b.Place), cmp.Compare(a.File, b.File), a.Line-b.Line)
	})
	return all, nil
}
