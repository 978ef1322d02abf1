package process

import (
	_ "embed"
	"fmt"
	"sync"

	"github.com/goccy/go-yaml"
)

//go:embed changes.yaml
var changesYAML []byte

// FigureChange is what changed in one figure of the program.
type FigureChange struct {
	Sheet  string `yaml:"sheet"` // "": of no sheet
	Step   string `yaml:"step"`
	Figure string `yaml:"figure"`
	Check  string `yaml:"check"` // the check whose interval it is of; "": none
	Text   string `yaml:"text"`
}

// ChangeLot is what changed at once.
type ChangeLot struct {
	N       int            `yaml:"n"`
	Changes []FigureChange `yaml:"changes"`
}

// ChangeLots lists what changed in the figures of the program, oldest first.
var ChangeLots = sync.OnceValue(func() []ChangeLot {
	var list []ChangeLot
	if err := yaml.UnmarshalWithOptions(changesYAML, &list, yaml.Strict()); err != nil {
		panic(fmt.Sprintf("process: the list of changes does not load: %v", err))
	}
	return list
})

// LastLot is the number of the last lot of changes.
func LastLot() int {
	lots := ChangeLots()
	return lots[len(lots)-1].N
}

// ChangesSince lists what changed after a lot.
func ChangesSince(n int) []FigureChange {
	var out []FigureChange
	for _, l := range ChangeLots() {
		if l.N > n {
			out = append(out, l.Changes...)
		}
	}
	return out
}

// Own tells whether a lab has its own figure there, which stands: one of its
// sheets, or its own interval of a check (days, by the check's id).
func (c FigureChange) Own(b *Book, days map[string]int) bool {
	if c.Check != "" {
		_, own := days[c.Check]
		return own
	}
	sheet, ok := b.Sheet(c.Sheet)
	if !ok {
		return false
	}
	step, ok := sheet.Step(c.Step)
	return ok && ProvenanceOf(step.Sources, c.Figure) == LabsOwn
}
