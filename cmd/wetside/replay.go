package main

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/rules"
)

type replayCmd struct {
	Rules    string   `placeholder:"DIR" help:"Folder with figures.yaml, cards/*.yaml and sheets/*.yaml that change the built-in rules and process sheets."`
	Captures []string `arg:"" name:"capture" help:"Captures (JSON Lines). Those that share a unit are read as one, by received_at."`
}

// Help implements kong.HelpProvider.
func (*replayCmd) Help() string {
	return `Prints JSON Lines: {"alert":...} for each occurrence of an alert, by raised_at, then {"run":...} for each run, by started_at. Each capture has its own clock, the latest received_at read from it, and ends with its last line: nothing is raised for the time after that. Nothing is printed unless every capture could be read.`
}

// Run implements the command.
func (c *replayCmd) Run(ctx context.Context, s streams) error {
	cfg, err := loadRules(c.Rules)
	if err != nil {
		return err
	}
	cfg.Zone = time.Local // as a lab that names no other
	groups, _, err := survey(ctx, c.Captures)
	if err != nil {
		return err
	}
	var found []lab.Alert
	var runs []lab.Run
	for _, names := range groups {
		j := newJudge(cfg)
		err := merge(names, func(raw lab.Raw) error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			_, _, err := j.take(ctx, raw)
			return err
		})
		if err == nil {
			err = j.finish(ctx)
		}
		if err != nil {
			return fmt.Errorf("replay of %s: %w", quotedList(names), err)
		}
		found = append(found, occurrences(j.found)...)
		for _, r := range j.runs {
			runs = append(runs, j.kept.decide(r))
		}
	}
	return printReplay(s.out, found, runs)
}

// loadRules reads the built-in rules and sheets, changed by those of dir.
func loadRules(dir string) (rules.Config, error) {
	if dir == "" {
		return rules.LoadConfig(nil)
	}
	st, err := os.Stat(dir)
	if err == nil && !st.IsDir() {
		err = fmt.Errorf("%s is a file; give a folder with figures.yaml, cards/*.yaml and sheets/*.yaml", dir)
	}
	if err != nil {
		return rules.Config{}, fmt.Errorf("--rules: %w", err)
	}
	cfg, err := rules.LoadConfig(os.DirFS(dir))
	if err != nil {
		return rules.Config{}, fmt.Errorf("--rules %s: %w", dir, err)
	}
	return cfg, nil
}

// occurrences shows each occurrence as the live service would show it if
// nobody ever acknowledged anything: all of one condition are one alert, known
// by the id of the first and counted.
func occurrences(found map[string]alerts.Change) []lab.Alert {
	byKey := map[string][]alerts.Change{}
	for _, c := range found {
		byKey[c.Key] = append(byKey[c.Key], c)
	}
	var out []lab.Alert
	for _, list := range byKey {
		slices.SortFunc(list, func(a, b alerts.Change) int {
			return cmp.Or(a.RaisedAt.Compare(b.RaisedAt), cmp.Compare(a.ID, b.ID))
		})
		for i, c := range list {
			shown, _, _ := alerts.Apply(nil, []alerts.Change{{Occurrence: c.Occurrence, Noticed: c.Noticed, FoundAfterwards: c.FoundAfterwards}}, c.Noticed, alerts.Policy{})
			for _, a := range shown {
				a.ID, a.Alert.Occurrence = list[0].ID, i+1
				if a.Facts == nil {
					a.Facts = map[string]any{}
				}
				out = append(out, a.Alert)
			}
		}
	}
	return out
}

// nameAlerts gives each run the ids of its alerts, in the order of found: the
// fold knows occurrences, and not those that are judged on arrival.
func nameAlerts(found []lab.Alert, runs []lab.Run) {
	for i := range runs {
		ids := []string{}
		for _, a := range found {
			if a.Run == runs[i].ID && !slices.Contains(ids, a.ID) {
				ids = append(ids, a.ID)
			}
		}
		runs[i].Alerts = ids
	}
}

func printReplay(w io.Writer, found []lab.Alert, runs []lab.Run) error {
	slices.SortFunc(found, func(a, b lab.Alert) int {
		return cmp.Or(a.RaisedAt.Compare(b.RaisedAt.Time), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(a.ID, b.ID), cmp.Compare(a.Occurrence, b.Occurrence))
	})
	slices.SortFunc(runs, func(a, b lab.Run) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt.Time), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.ID, b.ID))
	})
	nameAlerts(found, runs)
	out := bufio.NewWriter(w)
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	for _, a := range found {
		if err := enc.Encode(map[string]lab.Alert{"alert": a}); err != nil {
			return fmt.Errorf("write the alerts: %w", err)
		}
	}
	for _, r := range runs {
		if err := enc.Encode(map[string]lab.Run{"run": r}); err != nil {
			return fmt.Errorf("write the runs: %w", err)
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write what was found: %w", err)
	}
	return nil
}

func quotedList(names []string) string {
	if len(names) == 1 {
		return names[0]
	}
	return fmt.Sprintf("%s and %d more that share a unit with it", names[0], len(names)-1)
}
