package process

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"regexp"

	"github.com/goccy/go-yaml"
)

//go:embed developers/*.yaml
var builtinDevelopers embed.FS

// developerFile is a file of developers: what a source prints, its columns
// once and a row each.
type developerFile struct {
	AtC        []float64      `yaml:"at_c"`
	RoundedMin float64        `yaml:"rounded_min"`
	Sources    []Source       `yaml:"sources"`
	Developers []developerDoc `yaml:"developers"`
}

type developerDoc struct {
	ID         string     `yaml:"id"`
	Film       string     `yaml:"film"`
	Developer  string     `yaml:"developer"`
	Dilution   string     `yaml:"dilution"`
	Format     string     `yaml:"format"`
	AtC        []float64  `yaml:"at_c"`
	Minutes    []*float64 `yaml:"minutes"` // null: missing or damaged in the source
	RoundedMin float64    `yaml:"rounded_min"`
	Per10C     *factorDoc `yaml:"per_10c"`
	Note       string     `yaml:"note"`
	Sources    []Source   `yaml:"sources"`
}

// readDevelopers adds every developer of dir's developers/*.yaml. One with an
// id that exists takes its place.
func readDevelopers(dir fs.FS, into map[string]*Developer) error {
	files, err := fs.Glob(dir, "developers/*.yaml")
	if err != nil {
		return err
	}
	for _, f := range files {
		raw, err := fs.ReadFile(dir, f)
		if err != nil {
			return fmt.Errorf("reading developers %s: %w", f, err)
		}
		var doc developerFile
		if err := yaml.UnmarshalWithOptions(raw, &doc, yaml.Strict()); err != nil {
			return fmt.Errorf("developers %s: %w", path.Base(f), err)
		}
		if len(doc.Developers) == 0 {
			return fmt.Errorf("developers %s: the list `developers` is empty", path.Base(f))
		}
		seen := map[string]bool{}
		for i, d := range doc.Developers {
			dev, err := d.build(&doc)
			if err != nil {
				return fmt.Errorf("developers %s: developer %d (%q): %w", path.Base(f), i+1, d.ID, err)
			}
			if seen[d.ID] {
				return fmt.Errorf("developers %s: developer %q stands twice", path.Base(f), d.ID)
			}
			seen[d.ID] = true
			into[d.ID] = dev
		}
	}
	return nil
}

var developerID = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

func (d *developerDoc) build(file *developerFile) (*Developer, error) {
	if !developerID.MatchString(d.ID) {
		return nil, fmt.Errorf("id must be small letters, figures and hyphens; got %q", d.ID)
	}
	if d.Developer == "" {
		return nil, fmt.Errorf("developer is missing; give the name on the bottle")
	}
	out := &Developer{ID: d.ID, Film: d.Film, Brew: d.Developer, Dilution: d.Dilution, Format: d.Format, Note: d.Note}
	out.Sources = append(append(out.Sources, file.Sources...), d.Sources...)
	if len(out.Sources) == 0 {
		return nil, fmt.Errorf("sources are missing; say where the figures come from")
	}
	switch {
	case d.Per10C != nil && d.Minutes != nil:
		return nil, fmt.Errorf("both per_10c and minutes are given; give one of them")
	case d.Per10C != nil:
		f := Factor{d.Per10C.Best, d.Per10C.Low, d.Per10C.High}
		if !(f.Low >= 1 && f.Low <= f.Best && f.Best <= f.High && boundFactor.Holds(f.High)) {
			return nil, fmt.Errorf("per_10c must be 1 <= low <= best <= high, such as {best: 2.5, low: 2, high: 3}")
		}
		out.Factor = &f
		return out, nil
	case d.Minutes == nil:
		return nil, fmt.Errorf("neither per_10c nor minutes is given; give one of them")
	}
	return out, d.buildTable(file, out)
}

func (d *developerDoc) buildTable(file *developerFile, out *Developer) error {
	at := d.AtC
	if at == nil {
		at = file.AtC
	}
	if len(at) != len(d.Minutes) {
		return fmt.Errorf("minutes must have one time for each temperature of at_c (null where there is none); got %d for %d", len(d.Minutes), len(at))
	}
	round := d.RoundedMin
	if round == 0 {
		round = file.RoundedMin
	}
	if round <= 0 || !boundMinutes.Holds(round) {
		return fmt.Errorf("rounded_min must be how finely the times are given, in minutes, such as 0.25; got %g", round)
	}
	out.RoundS = 60 * round
	for i, m := range d.Minutes {
		if err := boundStepC.Check("at_c", at[i]); err != nil {
			return err
		}
		if err := boundMinutes.CheckPtr("minutes", m); err != nil {
			return err
		}
		if i > 0 && at[i] <= at[i-1] {
			return fmt.Errorf("at_c %g does not exceed the one before it", at[i])
		}
		if m == nil {
			out.Partial = true
			continue
		}
		p := TimeAt{C: at[i], S: 60 * *m}
		if p.S <= out.RoundS/2 {
			return fmt.Errorf("%g min at %g °C is no more than its own rounding", *m, p.C)
		}
		if n := len(out.Table); n > 0 && p.S > out.Table[n-1].S {
			return fmt.Errorf("%g min at %g °C is longer than the time before it; no developer is slower when warmer", *m, p.C)
		}
		out.Table = append(out.Table, p)
	}
	if len(out.Table) < 2 {
		return fmt.Errorf("minutes must have at least two times; got %d", len(out.Table))
	}
	return nil
}
