package lab

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// MixPrefix begins the label of every mix, so that a scanner tells it from a
// roll.
const MixPrefix = "MIX-"

// Mix is a batch of one solution as it was mixed: a line of the book of mixes.
type Mix struct {
	Solution  string    `json:"solution" doc:"What it is: process and step, as units name the bottle." example:"c41/developer"`
	Name      string    `json:"name,omitempty" doc:"What people call it."`
	Lot       string    `json:"lot,omitempty" doc:"The maker's lot number; absent: not noted."`
	Parts     []MixPart `json:"parts,omitempty" doc:"What went into it."`
	VolumeL   float64   `json:"volume_l" doc:"How much was mixed, liters."`
	MixedBy   string    `json:"mixed_by" doc:"Who mixed it."`
	Note      string    `json:"note,omitempty" doc:"What else is to be known."`
	Withdrawn string    `json:"withdrawn,omitempty" doc:"Why it must not be used any more; absent: it may be used."`
	Done      bool      `json:"done,omitempty" doc:"It is used up or discarded."`
}

// MixPart is one part of a mix.
type MixPart struct {
	Part string  `json:"part" doc:"What the maker calls it."`
	ML   float64 `json:"ml" doc:"How much of it, milliliters."`
	Lot  string  `json:"lot,omitempty" doc:"The maker's lot number of this part, where it has one of its own."`
}

// Caps of what mixes say.
const (
	MaxMixParts = 16
	maxLine     = 200
	maxNote     = 1000
)

// Bounds of mixes and of the limits for them.
var (
	boundPartML = Bound{0, 2_000_000} // mL of a part
	boundRollML = Bound{0, 50_000}    // mL in a tank
	boundLimit  = Bound{0, 100_000}   // days, rolls a liter
)

// SolutionOf takes the name of a solution apart: process and step.
func SolutionOf(s string) (process, step string, err error) {
	process, step, ok := strings.Cut(s, "/")
	if !ok || process == "" || step == "" || len(s) > 128 || strings.Contains(step, "/") {
		return "", "", Errorf(KindInvalid, "solution %q must be process/step, such as c41/developer", s)
	}
	return process, step, nil
}

// Check says what is wrong with m.
func (m Mix) Check() error {
	if _, _, err := SolutionOf(m.Solution); err != nil {
		return err
	}
	if err := present("mixed_by", m.MixedBy); err != nil {
		return Errorf(KindInvalid, "%w", err)
	}
	if err := BoundLitres.Check("volume_l", m.VolumeL); err != nil {
		return Errorf(KindInvalid, "%w", err)
	}
	if m.VolumeL <= 0 {
		return Errorf(KindInvalid, "volume_l must be over 0 L; got %g", m.VolumeL)
	}
	if len(m.Parts) > MaxMixParts {
		return Errorf(KindInvalid, "there are %d parts; at most %d are taken", len(m.Parts), MaxMixParts)
	}
	for i, p := range m.Parts {
		if err := present("part", p.Part); err != nil {
			return Errorf(KindInvalid, "parts[%d]: %w", i, err)
		}
		if err := boundPartML.Check(fmt.Sprintf("mL of parts[%d]", i), p.ML); err != nil {
			return Errorf(KindInvalid, "%w", err)
		}
	}
	for _, f := range []struct {
		field, v string
		most     int
	}{{"name", m.Name, maxLine}, {"lot", m.Lot, maxLine}, {"mixed_by", m.MixedBy, maxLine}, {"note", m.Note, maxNote}, {"withdrawn", m.Withdrawn, maxNote}} {
		if n := utf8.RuneCountInString(f.v); n > f.most {
			return Errorf(KindInvalid, "%s has %d characters; at most %d are taken", f.field, n, f.most)
		}
	}
	return nil
}

// Bottle says which mix stands at a position of a unit from a moment on: where
// the unit draws a bath from, as draw_from names it. It carries what is known
// of the mix, so that a record says it without the book.
type Bottle struct {
	Position string `json:"position" doc:"The bottle's position: what the unit draws from, by default process/step." example:"c41/developer"`
	Mix      string `json:"mix,omitempty" doc:"The mix in it, by its label; absent: not known from now on."`
	Name     string `json:"name,omitempty" doc:"What people call the mix."`
	Lot      string `json:"lot,omitempty" doc:"The maker's lot number."`
	MixedAt  *Time  `json:"mixed_at,omitempty" doc:"When it was mixed."`
	MixedBy  string `json:"mixed_by,omitempty" doc:"Who mixed it."`
}

func (b Bottle) check() error {
	if err := present("position", b.Position); err != nil {
		return err
	}
	for _, v := range []string{b.Position, b.Mix} {
		if len(v) > 128 {
			return fmt.Errorf("position and mix must be at most 128 characters; got %d", len(v))
		}
	}
	return nil
}

func bottleSets(e Entry) string { return BodyOf[Bottle](e).Position }

func bottleWords(e Entry, in EntryWords) string {
	b := BodyOf[Bottle](e)
	if b.Mix == "" {
		return fmt.Sprintf("said that the mix at %s is not known", b.Position)
	}
	return fmt.Sprintf("put %s at %s", b.MixWords(), b.Position)
}

// MixWords say which mix is in the bottle: its label, the maker's lot, when it
// was mixed and by whom, as far as that is known.
func (b Bottle) MixWords() string {
	of := []string{}
	if b.Lot != "" {
		of = append(of, "maker's lot "+b.Lot)
	} else {
		of = append(of, "maker's lot not noted")
	}
	if b.MixedAt != nil {
		mixed := "mixed " + b.MixedAt.Format("2006-01-02")
		if b.MixedBy != "" {
			mixed += " by " + b.MixedBy
		}
		of = append(of, mixed)
	}
	return fmt.Sprintf("mix %s (%s)", b.Mix, strings.Join(of, ", "))
}

// StepMix is which mix a step of a run used, as far as that is known.
type StepMix struct {
	N        int    `json:"n"`
	Step     string `json:"step"`
	Position string `json:"position" doc:"The bottle that it drew from."`
	Mix      string `json:"mix" doc:"The mix by its label; empty: not known, no bottle was scanned there."`
	Text     string `json:"text" doc:"The mix in words, with the maker's lot, when it was mixed and by whom."`
	// Sure is false where the step was not heard, or the bottle was changed
	// while it went on: it may have been this mix.
	Sure bool `json:"sure" doc:"False: the step was not received, or the bottle was changed while it went on; it may have been this mix."`
}

// ChemistryKey is the name of the setting that holds ChemistrySettings, as JSON.
const ChemistryKey = "chemistry"

// ChemistrySettings are the lab's own limits for mixes, and its recipes.
type ChemistrySettings struct {
	Limits  []MixLimit  `json:"limits,omitempty" doc:"Limits by solution. What is not named has none, unless a published one is taken over."`
	Covers  []TankCover `json:"covers,omitempty" doc:"What a tank needs to cover its reels."`
	Recipes []Recipe    `json:"recipes,omitempty" doc:"The lab's own recipes."`
}

// MixLimit is how long a solution may be used, and how much of it film takes.
type MixLimit struct {
	Solution  string   `json:"solution" example:"c41/developer"`
	Days      *float64 `json:"days,omitempty" doc:"How old a mix may be, days; absent: no limit."`
	RollsPerL *float64 `json:"rolls_per_l,omitempty" doc:"How many roll-equivalents may go through a liter; absent: no limit."`
	MLPerRoll *float64 `json:"ml_per_roll,omitempty" doc:"How much a roll-equivalent needs of it in the tank, milliliters; absent: not known."`
	Source    string   `json:"source,omitempty" doc:"Where the figures are from: the maker's leaflet, the lab's own tests."`
}

// TankCover is how much liquid covers so many reels in a unit's tank.
type TankCover struct {
	Unit  string  `json:"unit" doc:"The unit, lab/unit."`
	Reels int     `json:"reels" doc:"For up to so many reels."`
	ML    float64 `json:"ml" doc:"Milliliters that cover them."`
}

// Recipe is how the lab mixes a solution.
type Recipe struct {
	Solution string       `json:"solution" example:"c41/developer"`
	Name     string       `json:"name" doc:"What people call it."`
	Parts    []RecipePart `json:"parts" doc:"In the order in which they go in."`
	Note     string       `json:"note,omitempty" doc:"What to mind while mixing."`
	Source   string       `json:"source,omitempty" doc:"Where it is from."`
}

// RecipePart is one part of a recipe.
type RecipePart struct {
	Part   string  `json:"part"`
	MLPerL float64 `json:"ml_per_l" doc:"Milliliters in a liter of the mix."`
}

// Check says what is wrong with s.
func (s ChemistrySettings) Check() error {
	if len(s.Limits) > maxLimits || len(s.Covers) > maxLimits || len(s.Recipes) > maxLimits {
		return Errorf(KindInvalid, "at most %d limits, covers and recipes are taken each", maxLimits)
	}
	seen := map[string]bool{}
	for i, l := range s.Limits {
		if _, _, err := SolutionOf(l.Solution); err != nil {
			return Errorf(KindInvalid, "limits[%d]: %w", i, err)
		}
		if seen[l.Solution] {
			return Errorf(KindInvalid, "limits[%d]: %s is there twice", i, l.Solution)
		}
		seen[l.Solution] = true
		for field, v := range map[string]*float64{"days": l.Days, "rolls_per_l": l.RollsPerL} {
			if err := boundLimit.CheckPtr(field, v); err != nil {
				return Errorf(KindInvalid, "limits[%d]: %w", i, err)
			}
		}
		if err := boundRollML.CheckPtr("ml_per_roll", l.MLPerRoll); err != nil {
			return Errorf(KindInvalid, "limits[%d]: %w", i, err)
		}
	}
	for i, c := range s.Covers {
		if _, err := ParseUnitID(c.Unit); err != nil {
			return Errorf(KindInvalid, "covers[%d]: %w", i, err)
		}
		if c.Reels < 1 || c.Reels > MaxRolls {
			return Errorf(KindInvalid, "covers[%d]: reels must be 1 to %d; got %d", i, MaxRolls, c.Reels)
		}
		if err := boundRollML.Check("ml", c.ML); err != nil {
			return Errorf(KindInvalid, "covers[%d]: %w", i, err)
		}
	}
	for i, r := range s.Recipes {
		if err := r.check(); err != nil {
			return Errorf(KindInvalid, "recipes[%d]: %w", i, err)
		}
	}
	return nil
}

func (r Recipe) check() error {
	if _, _, err := SolutionOf(r.Solution); err != nil {
		return err
	}
	if err := present("name", r.Name); err != nil {
		return err
	}
	if len(r.Parts) == 0 || len(r.Parts) > MaxMixParts {
		return fmt.Errorf("parts must be 1 to %d; got %d", MaxMixParts, len(r.Parts))
	}
	sum := 0.0
	for i, p := range r.Parts {
		if err := present(fmt.Sprintf("parts[%d].part", i), p.Part); err != nil {
			return err
		}
		if !finite(p.MLPerL, 0, 1000) {
			return fmt.Errorf("parts[%d].ml_per_l must be 0 to 1,000 mL; got %g", i, p.MLPerL)
		}
		sum += p.MLPerL
	}
	if sum > 1000+1e-6 {
		return fmt.Errorf("the parts add up to %g mL a liter; at most 1,000 mL fit", sum)
	}
	return nil
}
