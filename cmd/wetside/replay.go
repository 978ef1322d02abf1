package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"time"

	"wetside/internal/lab"
	"wetside/internal/replay"
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
	groups, _, err := replay.Survey(ctx, c.Captures)
	if err != nil {
		return err
	}
	var found []lab.Alert
	var runs []lab.Run
	for _, names := range groups {
		p := replay.New(cfg)
		err := replay.Merge(names, func(raw lab.Raw) error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			_, _, err := p.Take(ctx, raw)
			return err
		})
		if err == nil {
			err = p.Finish(ctx)
		}
		if err != nil {
			return fmt.Errorf("replay of %s: %w", quotedList(names), err)
		}
		found, runs = append(found, p.Alerts()...), append(runs, p.Runs()...)
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

func printReplay(w io.Writer, found []lab.Alert, runs []lab.Run) error {
	replay.Arrange(found, runs)
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
