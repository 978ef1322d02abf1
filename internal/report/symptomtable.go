package report

import (
	_ "embed"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
	"wetside/internal/process"
)

//go:embed symptoms.yaml
var symptomsYAML []byte

//go:embed causes.yaml
var causesYAML []byte

// symptomTable is what departures do to film and what faults on film come from.
type symptomTable struct {
	Sources  map[string]source `yaml:"sources"`
	Look     []lookRow         `yaml:"look"`
	Symptoms []symptomRow      `yaml:"symptoms"`
}

// source is where a row was read.
type source struct {
	Text       string   `yaml:"text"`
	Provenance string   `yaml:"standing"` // how far it goes, as process.Published
	Of         []string `yaml:"of"`       // the families that it speaks of
}

// lookRow is the consequence of a reason.
type lookRow struct {
	Codes    []string `yaml:"codes"`
	Families []string `yaml:"families"`
	Kind     string   `yaml:"kind"`
	Steps    []string `yaml:"steps"`
	Look     string   `yaml:"look"`
	Remedy   string   `yaml:"remedy"`
	Source   string   `yaml:"source"`
	Memory   bool     `yaml:"memory"`
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

var builtinTable = sync.OnceValue(func() *symptomTable {
	t, err := loadTable()
	if err != nil {
		panic(fmt.Sprintf("report: the built-in symptom table does not load: %v", err))
	}
	return t
})

func loadTable() (*symptomTable, error) {
	t := &symptomTable{}
	if err := yaml.UnmarshalWithOptions(symptomsYAML, t, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("symptoms.yaml: %w", err)
	}
	var causes symptomTable
	if err := yaml.UnmarshalWithOptions(causesYAML, &causes, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("causes.yaml: %w", err)
	}
	t.Symptoms = causes.Symptoms
	return t, t.check()
}

// check holds every row to what it must say: the families that it holds for,
// and a source that is in the list.
func (t *symptomTable) check() error {
	row := func(where, key string, families []string) error {
		if _, ok := t.Sources[key]; !ok {
			return fmt.Errorf("%s: source %q is not in the list", where, key)
		}
		for _, f := range families {
			if !slices.Contains(everyFamily, f) {
				return fmt.Errorf("%s: there is no family %q", where, f)
			}
		}
		if len(families) == 0 {
			return fmt.Errorf("%s: it does not say which families it holds for", where)
		}
		return nil
	}
	for _, l := range t.Look {
		if err := row(l.Look, l.Source, l.Families); err != nil {
			return err
		}
	}
	for _, s := range t.Symptoms {
		for _, c := range s.Causes {
			if err := row(s.Seen+": "+c.Text, c.Source, c.Families); err != nil {
				return err
			}
		}
	}
	return nil
}

// Families of processes: each built-in one, what a lab added, and all.
const (
	familyOther = "other"
	familyAll   = "all"
)

var everyFamily = []string{"c41", "e6", "bw", familyOther, familyAll}

// holdsForFamily tells whether a list of families has one.
func holdsForFamily(families []string, fam string) bool {
	if fam == "" {
		fam = familyOther
	}
	return slices.Contains(families, familyAll) || slices.Contains(families, fam)
}

// source spells out where a row was read, and how far that goes for a family:
// what the source does not speak of is carried over to it, and unconfirmed.
func (t *symptomTable) source(key string, memory bool, fam string) (text, provenance string) {
	s := t.Sources[key]
	switch {
	case memory:
		return s.Text, process.Unconfirmed
	case !holdsForFamily(s.Of, fam):
		return s.Text + ", carried over to this process", process.Unconfirmed
	}
	return s.Text, s.Provenance
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

// stepMatches tells whether a step id is one of the patterns; none fits all.
func stepMatches(patterns []string, step string) bool {
	return len(patterns) == 0 || slices.ContainsFunc(patterns, func(p string) bool {
		ok, err := path.Match(p, step)
		return err == nil && ok
	})
}

func emptyOrContains(list []string, s string) bool { return len(list) == 0 || slices.Contains(list, s) }

// SymptomLabel is a fault that can be seen on film.
type SymptomLabel struct {
	Seen  string `json:"seen"`
	Label string `json:"label"`
}

// Symptoms lists the faults that film of a process can show; with "" all.
func Symptoms(processID string) []SymptomLabel {
	out := []SymptomLabel{}
	f := family(processID)
	for _, s := range builtinTable().Symptoms {
		if f == "" || emptyOrContains(s.Families, f) {
			out = append(out, SymptomLabel{s.Seen, s.Label})
		}
	}
	return out
}

func (t *symptomTable) symptom(seen string) (symptomRow, bool) {
	i := slices.IndexFunc(t.Symptoms, func(s symptomRow) bool { return s.Seen == seen })
	if i < 0 {
		return symptomRow{}, false
	}
	return t.Symptoms[i], true
}

// lookFor names for each reason what it does to film and what can still be
// done, in the order of the reasons.
func lookFor(run lab.Run, sp sheetSteps) []lab.LookFor {
	t, out, fam := builtinTable(), []lab.LookFor{}, family(run.Process)
	for _, r := range run.Reasons {
		asked := r
		if run.Outcome == lab.OutcomeAborted && r.Code == "missing-evidence" && r.Step == "" {
			asked.Code = "aborted"
		}
		row, ok := t.lookRow(asked, fam, stepKind(sp, r.Step))
		if !ok {
			continue
		}
		l := lab.LookFor{Code: r.Code, Step: r.Step, Look: row.Look, Remedy: row.Remedy}
		l.Source, l.Provenance = t.source(row.Source, row.Memory, fam)
		if !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	return out
}

func stepKind(sp sheetSteps, step string) string {
	if st := sp.of(step); st != nil {
		return st.Kind
	}
	return ""
}

// lookRow finds the first row that fits a reason.
func (t *symptomTable) lookRow(r lab.Reason, fam, kind string) (lookRow, bool) {
	i := slices.IndexFunc(t.Look, func(l lookRow) bool {
		return slices.Contains(l.Codes, r.Code) && holdsForFamily(l.Families, fam) &&
			(l.Kind == "" || l.Kind == kind) && stepMatches(l.Steps, r.Step)
	})
	if i < 0 {
		return lookRow{}, false
	}
	return t.Look[i], true
}
