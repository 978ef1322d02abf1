package words

import (
	_ "embed"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
)

//go:embed banned.yaml
var bannedYAML []byte

// Ban is something that is not to be written, what to write in its place, and
// why. Bad and Good are examples that the tests hold it to.
type Ban struct {
	Ban   string   `yaml:"ban"` // regular expression
	Say   string   `yaml:"say"`
	Why   string   `yaml:"why"`
	Not   []string `yaml:"not"` // places it does not hold in
	Bad   []string `yaml:"bad"`
	Good  []string `yaml:"good"`
	Allow []Allow  `yaml:"allow"`

	is *regexp.Regexp
}

// Allow is a true use of what is banned elsewhere.
type Allow struct {
	In  string `yaml:"in"`  // a file, or a folder that ends in /
	Has string `yaml:"has"` // what the text must hold; empty: any
	Why string `yaml:"why"`
}

// Bans reads the list.
func Bans() ([]Ban, error) {
	var bans []Ban
	if err := yaml.UnmarshalWithOptions(bannedYAML, &bans, yaml.Strict()); err != nil {
		return nil, err
	}
	for i, b := range bans {
		is, err := regexp.Compile(b.Ban)
		if err != nil {
			return nil, fmt.Errorf("banned.yaml: %w", err)
		}
		bans[i].is = is
	}
	return bans, nil
}

// Wrong is a text that holds something banned.
type Wrong struct {
	Text Text
	Ban  *Ban
	Has  string
}

func (w Wrong) String() string {
	return fmt.Sprintf("%s:%d: %q: say %s (%s)\n\t%s", w.Text.File, w.Text.Line, w.Has, w.Ban.Say, w.Ban.Why, w.Text.Says)
}

// Check gives what is wrong with the texts. Each true use that was needed is
// counted in used, so that a list of exceptions cannot outlive them.
func Check(texts []Text, bans []Ban, used map[*Allow]int) []Wrong {
	var wrong []Wrong
	for _, t := range texts {
		for i := range bans {
			b := &bans[i]
			has := b.is.FindString(t.Says)
			if has == "" || slices.Contains(b.Not, t.Place) {
				continue
			}
			if a := b.allowed(t); a != nil {
				used[a]++
				continue
			}
			wrong = append(wrong, Wrong{t, b, has})
		}
	}
	return wrong
}

func (b *Ban) allowed(t Text) *Allow {
	for i := range b.Allow {
		a := &b.Allow[i]
		if (t.File == a.In || strings.HasSuffix(a.In, "/") && strings.HasPrefix(t.File, a.In)) && strings.Contains(t.Says, a.Has) {
			return a
		}
	}
	return nil
}
