package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/replay"
	"wetside/internal/replay/history"
)

type importCmd struct {
	Rules    string   `env:"WETSIDE_RULES" placeholder:"DIR" help:"Folder with figures.yaml, cards/*.yaml and sheets/*.yaml that change the built-in rules and process sheets."`
	Captures []string `arg:"" name:"capture" help:"Captures (JSON Lines). Those that share a unit are read as one, by received_at."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*importCmd) Help() string {
	return `Takes history in through the same decoder, rules and tables as live telemetry. Nobody is paged, its alerts come in closed, and what is watched live is not disturbed: it may run at the same time. Done again it changes nothing. Progress goes to stderr.`
}

// Run implements the command.
func (c *importCmd) Run(ctx context.Context, s streams) error {
	cfg, err := loadRules(c.Rules)
	if err != nil {
		return err
	}
	groups, lines, err := replay.Survey(ctx, c.Captures)
	if err != nil {
		return err
	}
	store, done, err := c.open(ctx, quiet(s), true)
	if err != nil {
		return err
	}
	defer done()
	if cfg.Zone, err = monitor.Zone(ctx, store); err != nil {
		return err
	}
	if _, err := monitor.OpenSheets(ctx, store, &cfg, quiet(s)); err != nil {
		return err
	}
	im := history.NewImporter(store, cfg)
	im.Tell = progress(s.err, lines)
	for _, names := range groups {
		err := im.Group(ctx, func(each func(lab.Raw) error) error { return replay.Merge(names, each) })
		if err != nil {
			return fmt.Errorf("import of %s: %w; what was read is stored, and importing again goes on from there", quotedList(names), err)
		}
	}
	n := im.Done()
	fmt.Fprintf(s.err, "imported %d lines: %d messages new, %d entries new, %d known already, %d refused; %d runs, %d alerts\n",
		n.Lines, n.New, n.Entries, n.Lines-n.New-n.Entries-n.Refused, n.Refused, n.Runs, n.Alerts)
	return nil
}

// progress says every two seconds how far an import has come.
func progress(w io.Writer, lines int) func(history.Count) {
	last := time.Now()
	return func(n history.Count) {
		if now := time.Now(); now.Sub(last) >= 2*time.Second && lines > 0 {
			last = now
			fmt.Fprintf(w, "%d of %d lines (%d %%)\n", n.Lines, lines, 100*n.Lines/lines)
		}
	}
}
