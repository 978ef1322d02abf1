package process

import (
	"embed"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"sync"

	"github.com/goccy/go-yaml"
)

//go:embed sheets/*.yaml
var builtin embed.FS

// Builtin gives the built-in sheets.
var Builtin = sync.OnceValue(func() *Book {
	b, err := Load(nil)
	if err != nil {
		panic(fmt.Sprintf("process: the built-in sheets do not load: %v", err))
	}
	return b
})

// Load reads the built-in sheets and then every *.yaml of dir (nil: none). A
// file with the id of a sheet that exists changes only the figures that it
// names; one with a new id must be whole, or name the sheet it is `based_on`.
// Developers come from developers/*.yaml beneath each of the two.
func Load(dir fs.FS) (*Book, error) { return load(dir, nil) }

// load is Load with the lab's own changes on top.
func load(dir fs.FS, changes []SheetChange) (*Book, error) {
	docs := map[string]*sheetDoc{}
	sub, err := fs.Sub(builtin, "sheets")
	if err != nil {
		return nil, err
	}
	for _, from := range []fs.FS{sub, dir} {
		if from == nil {
			continue
		}
		if err := readSheets(from, docs); err != nil {
			return nil, err
		}
	}
	for _, c := range changes {
		if err := addSheet(c.Body, c.file(), docs); err != nil {
			return nil, err
		}
	}
	book := &Book{sheets: map[string]*Sheet{}, developers: map[string]*Developer{}}
	for _, from := range []fs.FS{builtinDevelopers, dir} {
		if from == nil {
			continue
		}
		if err := readDevelopers(from, book.developers); err != nil {
			return nil, err
		}
	}
	for _, id := range slices.Sorted(maps.Keys(docs)) {
		s, err := docs[id].build(docs)
		if err != nil {
			return nil, fmt.Errorf("sheet %q (%s): %w", id, docs[id].file, err)
		}
		book.sheets[id] = s
	}
	return book, nil
}

func readSheets(from fs.FS, docs map[string]*sheetDoc) error {
	files, err := fs.Glob(from, "*.yaml")
	if err != nil {
		return err
	}
	for _, f := range files {
		raw, err := fs.ReadFile(from, f)
		if err != nil {
			return fmt.Errorf("reading sheet %s: %w", f, err)
		}
		if err := addSheet(raw, path.Base(f), docs); err != nil {
			return err
		}
	}
	return nil
}

// addSheet reads one sheet, or the figures that it changes of one that is there.
func addSheet(raw []byte, file string, docs map[string]*sheetDoc) error {
	doc := &sheetDoc{file: file}
	if err := yaml.UnmarshalWithOptions(raw, doc, yaml.Strict()); err != nil {
		return fmt.Errorf("sheet %s: %w", file, err)
	}
	if doc.ID == "" {
		return fmt.Errorf("sheet %s: id is missing; give the process id that the units publish", file)
	}
	if old, ok := docs[doc.ID]; ok {
		doc = old.overlay(doc)
	}
	docs[doc.ID] = doc
	return nil
}

// sheetDoc is a sheet as the file has it: every figure may be absent.
type sheetDoc struct {
	file    string
	ID      string    `yaml:"id"`
	BasedOn string    `yaml:"based_on"`
	Name    string    `yaml:"name"`
	What    string    `yaml:"what"`
	DryMaxC *float64  `yaml:"dry_max_c"`
	Light   *lightDoc `yaml:"light_safe"`
	Steps   []stepDoc `yaml:"steps"`
	Sources []Source  `yaml:"sources"`
}

type lightDoc struct {
	Step  string  `yaml:"step"`
	InS   float64 `yaml:"in_s"`
	AtEnd bool    `yaml:"at_end"`
}

type stepDoc struct {
	ID       string              `yaml:"id"`
	Label    string              `yaml:"label"`
	Short    string              `yaml:"short"`
	Kind     string              `yaml:"kind"`
	Wash     *bool               `yaml:"wash"`
	Fixes    *bool               `yaml:"fixes"`
	Fills    *int                `yaml:"fills"`
	Optional *bool               `yaml:"optional"`
	FromUnit *bool               `yaml:"time_from_unit"`
	AimS     *float64            `yaml:"aim_s"`
	LeastS   *float64            `yaml:"least_s"`
	UnderS   *float64            `yaml:"under_s"`
	OverS    *float64            `yaml:"over_s"`
	AimC     *float64            `yaml:"aim_c"`
	LimitsC  []float64           `yaml:"limits_c"`
	PushS    map[float64]float64 `yaml:"push_s"`
	PushX    map[float64]float64 `yaml:"push_factor"`
	Factor   *factorDoc          `yaml:"per_10c"`
	RPM      *float64            `yaml:"rpm"`
	RangeC   *bool               `yaml:"range_c"`
	Note     string              `yaml:"note"`
	AtC      map[float64]float64 `yaml:"time_at_c"`   // °C: seconds
	Slower   map[float64]float64 `yaml:"slower_cold"` // °C: factor on the time
	Analogy  *bool               `yaml:"slower_by_analogy"`
	Spread   *factorDoc          `yaml:"push_spread"`
	Edges    *edgesDoc           `yaml:"edges"`
	Sources  []Source            `yaml:"sources"`
}

type factorDoc struct {
	Best float64 `yaml:"best"`
	Low  float64 `yaml:"low"`
	High float64 `yaml:"high"`
}

type edgesDoc struct {
	InspectStops float64   `yaml:"inspect_stops"`
	OutStops     float64   `yaml:"out_stops"`
	InspectRatio []float64 `yaml:"inspect_ratio"` // under, over
	OutRatio     []float64 `yaml:"out_ratio"`
}

// overlay gives d with the figures that over names put in their place.
func (d *sheetDoc) overlay(over *sheetDoc) *sheetDoc {
	out := *d
	out.file = over.file
	out.ID = over.ID
	out.BasedOn = firstNonEmpty(over.BasedOn, d.BasedOn)
	out.Name = firstNonEmpty(over.Name, d.Name)
	out.What = firstNonEmpty(over.What, d.What)
	out.DryMaxC = firstGiven(over.DryMaxC, d.DryMaxC)
	out.Light = firstGiven(over.Light, d.Light)
	out.Sources = ChangedSources(d.Sources, over.figures(), over.Sources)
	out.Steps = slices.Clone(d.Steps)
	for _, s := range over.Steps {
		i := slices.IndexFunc(out.Steps, func(x stepDoc) bool { return x.ID == s.ID })
		if i < 0 {
			out.Steps = append(out.Steps, s)
			continue
		}
		out.Steps[i] = out.Steps[i].overlay(s)
	}
	return &out
}

func (d stepDoc) overlay(o stepDoc) stepDoc {
	d.Label, d.Short, d.Kind = firstNonEmpty(o.Label, d.Label), firstNonEmpty(o.Short, d.Short), firstNonEmpty(o.Kind, d.Kind)
	d.Wash, d.Fixes, d.Fills = firstGiven(o.Wash, d.Wash), firstGiven(o.Fixes, d.Fixes), firstGiven(o.Fills, d.Fills)
	d.Optional, d.FromUnit = firstGiven(o.Optional, d.Optional), firstGiven(o.FromUnit, d.FromUnit)
	d.AimS, d.LeastS = firstGiven(o.AimS, d.AimS), firstGiven(o.LeastS, d.LeastS)
	d.UnderS, d.OverS = firstGiven(o.UnderS, d.UnderS), firstGiven(o.OverS, d.OverS)
	d.AimC, d.Factor, d.Edges = firstGiven(o.AimC, d.AimC), firstGiven(o.Factor, d.Factor), firstGiven(o.Edges, d.Edges)
	d.Spread = firstGiven(o.Spread, d.Spread)
	d.RPM, d.Analogy = firstGiven(o.RPM, d.RPM), firstGiven(o.Analogy, d.Analogy)
	if o.AtC != nil {
		d.AtC = o.AtC
	}
	if o.Slower != nil {
		d.Slower, d.Analogy = o.Slower, o.Analogy
	}
	if o.LimitsC != nil {
		d.LimitsC = o.LimitsC
	}
	if o.PushS != nil || o.PushX != nil {
		d.PushS, d.PushX = o.PushS, o.PushX
	}
	d.Sources = ChangedSources(d.Sources, o.figures(), o.Sources)
	d.RangeC, d.Note = firstGiven(o.RangeC, d.RangeC), firstNonEmpty(o.Note, d.Note)
	return d
}

func firstNonEmpty(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func firstGiven[T any](a, b *T) *T {
	if a != nil {
		return a
	}
	return b
}
