package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"

	"github.com/alecthomas/kong"
	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
)

// settingsFile is what --config names: the flags of serve by name, as YAML.
// What stands on the command line or in the environment comes before it.
type settingsFile struct {
	name   string
	values map[string]any
}

// findSettings gives the file that serve is told to read, nil where it is not.
func findSettings(args []string) (*settingsFile, error) {
	if len(args) == 0 || args[0] != "serve" {
		return nil, nil
	}
	name := os.Getenv("WETSIDE_CONFIG")
	for i, a := range args {
		if v, ok := strings.CutPrefix(a, "--config="); ok {
			name = v
		} else if a == "--config" && i+1 < len(args) {
			name = args[i+1]
		}
	}
	if name == "" {
		return nil, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("--config: %w", err)
	}
	defer f.Close()
	s, err := readSettings(name, f)
	if err != nil {
		return nil, fmt.Errorf("--config %s: %w", name, err)
	}
	return s, nil
}

func readSettings(name string, r io.Reader) (*settingsFile, error) {
	s := &settingsFile{name: name, values: map[string]any{}}
	if err := yaml.NewDecoder(r).Decode(&s.values); err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("not a file of settings, one \"name: value\" a line: %s", yaml.FormatError(err, false, false))
	}
	return s, nil
}

// Validate implements kong.Resolver.
func (s *settingsFile) Validate(app *kong.Application) error {
	known := map[string]bool{}
	for _, node := range app.Children {
		if node.Name != "serve" {
			continue
		}
		for _, flag := range node.Flags {
			if flag.Name != "config" && flag.Name != "help" {
				known[flag.Name] = true
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(s.values)) {
		if !known[key] {
			return fmt.Errorf("--config %s: %s", s.name, lab.MustBeOneOf("a setting", key, slices.Sorted(maps.Keys(known))))
		}
	}
	return nil
}

// Resolve implements kong.Resolver.
func (s *settingsFile) Resolve(_ *kong.Context, _ *kong.Path, flag *kong.Flag) (any, error) {
	for _, env := range flag.Envs {
		if _, ok := os.LookupEnv(env); ok {
			return nil, nil
		}
	}
	switch v := s.values[flag.Name].(type) {
	case nil:
		return nil, nil
	case string:
		return v, nil
	case []any:
		list := make([]string, len(v))
		for i, x := range v {
			list[i] = fmt.Sprint(x)
		}
		return strings.Join(list, ","), nil
	case map[string]any:
		return nil, fmt.Errorf("--config %s: %s is a group of settings; name one of them", s.name, flag.Name)
	default:
		return fmt.Sprint(v), nil
	}
}
