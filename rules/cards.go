package rules

import (
	"embed"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"strings"
	"time"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
)

//go:embed cards/*.yaml
var builtinCards embed.FS

// Card is what a rule says to a person, in the rule's own file: cause,
// consequence of doing nothing, response, and how long there is to respond at
// each priority it may have. A rule without a response does not load: what
// needs no response is no alert.
type Card struct {
	Cause       string                   `yaml:"cause"`
	Consequence string                   `yaml:"consequence"`
	Response    string                   `yaml:"response"`
	Respond     map[lab.Priority]Respond `yaml:"respond"`
	// As changes a priority for this lab: {urgent: high} makes what would be
	// urgent high.
	As map[lab.Priority]lab.Priority `yaml:"as"`
	// TrialDays is for how long after a lab first had the rule it is shown and
	// pages nobody.
	TrialDays float64 `yaml:"trial_days"`
}

// Trials gives how long each rule is on trial in a lab; rules that page from
// the first day are not in it.
func (d *Data) Trials() map[string]time.Duration {
	out := map[string]time.Duration{}
	for name, card := range d.Rules {
		if card.TrialDays > 0 {
			out[name] = time.Duration(card.TrialDays * float64(24*time.Hour))
		}
	}
	return out
}

// Respond is when a rule has a priority, and the time there is to respond.
type Respond struct {
	When    string  `yaml:"when"`
	WithinS float64 `yaml:"within_s"`
}

// priority is p as this lab wants it.
func (c Card) priority(p lab.Priority) lab.Priority {
	if q, ok := c.As[p]; ok {
		return q
	}
	return p
}

// withRespond adds the time there is to respond to the facts of an alert: that
// of the first of the priorities that the card knows.
func (c Card) withRespond(facts map[string]any, ps ...lab.Priority) map[string]any {
	for _, p := range ps {
		if r, ok := c.Respond[p]; ok {
			facts = maps.Clone(facts)
			if facts == nil {
				facts = map[string]any{}
			}
			facts["respond_s"] = r.WithinS
			return facts
		}
	}
	return facts
}

// loadCards reads the built-in cards, changed by cards/*.yaml of dir.
func loadCards(dir fs.FS) (map[string]Card, error) {
	cards := map[string]Card{}
	if err := readCards(builtinCards, cards); err != nil {
		return nil, fmt.Errorf("built-in rules: %w", err)
	}
	if dir != nil {
		if err := readCards(dir, cards); err != nil {
			return nil, err
		}
	}
	for _, name := range ruleNames {
		if err := cards[name].check(); err != nil {
			return nil, fmt.Errorf("cards/%s.yaml: %w", name, err)
		}
	}
	return cards, nil
}

func readCards(dir fs.FS, into map[string]Card) error {
	files, err := fs.Glob(dir, "cards/*.yaml")
	if err != nil {
		return err
	}
	for _, file := range files {
		name := strings.TrimSuffix(path.Base(file), ".yaml")
		if !knownRule(name) {
			return fmt.Errorf("%s: %s", file, lab.MustBeOneOf("a rule", name, ruleNames))
		}
		raw, err := fs.ReadFile(dir, file)
		if err != nil {
			return err
		}
		card := into[name]
		card.Respond, card.As = maps.Clone(card.Respond), maps.Clone(card.As)
		if err := yaml.UnmarshalWithOptions(raw, &card, yaml.Strict()); err != nil {
			return fmt.Errorf("%s: %w", file, err)
		}
		into[name] = card
	}
	return nil
}

func (c Card) check() error {
	if c.Cause == "" || c.Consequence == "" || c.Response == "" {
		return fmt.Errorf("cause, consequence and response must be given: what needs no response is no alert")
	}
	if !(lab.Bound{Low: 0, High: 366}).Holds(c.TrialDays) {
		return fmt.Errorf("trial_days must be 0 to 366; got %g", c.TrialDays)
	}
	if len(c.Respond) == 0 {
		return fmt.Errorf("respond must be given: the time to respond at each priority, such as {urgent: {when: in a developer, within_s: 60}}")
	}
	for p, r := range c.Respond {
		if p.Rank() == 0 || r.When == "" || r.WithinS <= 0 || !boundFigure.Holds(r.WithinS) {
			return fmt.Errorf("respond must be of urgent, high or low, with when and a within_s above 0; got %q", p)
		}
	}
	for from, to := range c.As {
		if _, ok := c.Respond[from]; !ok || to.Rank() == 0 {
			return fmt.Errorf("as: {%s: %s} must have a priority that the rule has on the left, and urgent, high or low on the right", from, to)
		}
	}
	return nil
}
