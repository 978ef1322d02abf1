package audit

import (
	_ "embed"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"
)

//go:embed symptoms.yaml
var symptomsYAML []byte

//go:embed causes.yaml
var causesYAML []byte

// table is what departures do to film and what faults on film come from.
type table struct {
	Sources  map[string]string `yaml:"sources"`
	Look     []lookRow         `yaml:"look"`
	Symptoms []symptomRow      `yaml:"symptoms"`
}

// lookRow is the consequence of a reason.
type lookRow struct {
	Codes  []string `yaml:"codes"`
	Family string   `yaml:"family"`
	Kind   string   `yaml:"kind"`
	Steps  []string `yaml:"steps"`
	Look   string   `yaml:"look"`
	Remedy string   `yaml:"remedy"`
	Source string   `yaml:"source"`
	Memory bool     `yaml:"memory"`
}

// symptomRow is a fault seen on film.
type symptomRow struct {
	Seen     string     `yaml:"seen"`
	Label    string     `yaml:"label"`
	Families []string   `yaml:"families"`
	Causes   []causeRow `yaml:"causes"`
}

// causeRow is one cause of a fault.
type causeRow struct {
	Text     string   `yaml:"text"`
	Families []string `yaml:"families"`
	Way      string   `yaml:"way"`
	Steps    []string `yaml:"steps"`
	Reasons  []string `yaml:"reasons"`
	Tell     string   `yaml:"tell"`
	Camera   bool     `yaml:"camera"`
	Source   string   `yaml:"source"`
	Memory   bool     `yaml:"memory"`
}

// Ways in which a cause is held against a run.
const (
	wayMore    = "more"
	wayLess    = "less"
	wayOff     = "off"
	wayReasons = "reasons"
	wayJump    = "jump"
)

var theTable = sync.OnceValue(func() *table {
	t, err := loadTable()
	if err != nil {
		panic(fmt.Sprintf("audit: the built-in symptom table does not load: %v", err))
	}
	return t
})

func loadTable() (*table, error) {
	t := &table{}
	if err := yaml.UnmarshalWithOptions(symptomsYAML, t, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("symptoms.yaml: %w", err)
	}
	var causes table
	if err := yaml.UnmarshalWithOptions(causesYAML, &causes, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("causes.yaml: %w", err)
	}
	t.Symptoms = causes.Symptoms
	return t, nil
}

// source spells a source out, with its mark.
func (t *table) source(key string, memory bool) string {
	s, ok := t.Sources[key]
	if !ok {
		s = key
	}
	if memory {
		s += " (from memory)"
	}
	return s
}

// family is the kind of process by its id: a lab's own sheets are named after
// what they are (c41-kit, e6-mine).
func family(processID string) string {
	for _, f := range []string{"c41", "e6", "bw"} {
		if strings.HasPrefix(processID, f) {
			return f
		}
	}
	return ""
}

// fits tells whether a step id is one of the patterns; none fits all.
func fits(patterns []string, step string) bool {
	return len(patterns) == 0 || slices.ContainsFunc(patterns, func(p string) bool {
		ok, err := path.Match(p, step)
		return err == nil && ok
	})
}

func among(list []string, s string) bool { return len(list) == 0 || slices.Contains(list, s) }

// SymptomLabel is a fault that can be seen on film.
type SymptomLabel struct {
	Seen  string `json:"seen"`
	Label string `json:"label"`
}

// Symptoms lists the faults that film of a process can show; with "" all.
func Symptoms(processID string) []SymptomLabel {
	out := []SymptomLabel{}
	f := family(processID)
	for _, s := range theTable().Symptoms {
		if f == "" || among(s.Families, f) {
			out = append(out, SymptomLabel{s.Seen, s.Label})
		}
	}
	return out
}

func (t *table) symptom(seen string) (symptomRow, bool) {
	i := slices.IndexFunc(t.Symptoms, func(s symptomRow) bool { return s.Seen == seen })
	if i < 0 {
		return symptomRow{}, false
	}
	return t.Symptoms[i], true
}
