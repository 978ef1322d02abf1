package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/postgres"
	"wetside/internal/records"
	"wetside/internal/report"
)

type reportCmd struct {
	Which string `arg:"" optional:"" name:"run" placeholder:"RUN" help:"The run: its id, the beginning of it, or the unit's own name of it."`
	Roll  string `placeholder:"TWIN-CHECK" help:"The run that carried this roll, in place of RUN."`
	As    string `default:"text" enum:"text,json,csv,pdf" placeholder:"FORM" help:"text, json, csv (every reading) or pdf. Default: ${default}"`
	Out   string `short:"o" placeholder:"FILE" help:"Write into this file. Default: stdout."`
	Rules string `env:"WETSIDE_RULES" placeholder:"DIR" help:"Folder with changed rules and sheets, as serve has it; for runs without a record."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*reportCmd) Help() string {
	return `Prints what happened to the film in one run: from its sealed record with what was entered since, or judged now where it has none yet. wetside advises: a person looks at the film.`
}

// Run implements the command.
func (c *reportCmd) Run(ctx context.Context, s streams) error {
	if (c.Which == "") == (c.Roll == "") {
		return usagef("name one run, or one roll with --roll")
	}
	cfg, err := loadRules(c.Rules)
	if err != nil {
		return err
	}
	store, done, err := c.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	zone, err := monitor.Zone(ctx, store)
	if err != nil {
		return err
	}
	if _, err := monitor.OpenSheets(ctx, store, &cfg, quiet(s)); err != nil {
		return err
	}
	making := monitor.Making(cfg, programName(), quiet(s))
	making.Zone, making.Units = zone, monitor.Units(store)
	reports, err := records.NewReports(store, making)
	if err != nil {
		return err
	}
	id, err := c.find(ctx, store)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := c.render(ctx, reports, id, report.Options{Zone: cfg.Zone, Units: monitor.Units(store)(ctx)}, &b); err != nil {
		return err
	}
	return c.write(s, b.Bytes())
}

// find gives the id of the one run that is meant.
func (c *reportCmd) find(ctx context.Context, store *postgres.Store) (string, error) {
	var ids []string
	var err error
	name := fmt.Sprintf("%q", c.Which)
	if c.Roll != "" {
		name = "with roll " + c.Roll
		var runs []lab.Run
		if runs, err = store.Runs(ctx, lab.RunFilter{Roll: c.Roll, Limit: 10}); err == nil {
			for _, r := range runs {
				ids = append(ids, r.ID)
			}
		}
	} else {
		ids, err = store.RunIDs(ctx, c.Which, 10)
	}
	switch {
	case err != nil:
		return "", err
	case len(ids) == 0:
		return "", lab.Errorf(lab.KindNotFound, "there is no run %s; give an id as the run list shows it, its beginning, or the unit's name of the run", name)
	case len(ids) == 1 || ids[0] == c.Which:
		return ids[0], nil
	}
	return "", fmt.Errorf("more than one run %s; name one of %s", name, strings.Join(ids, ", "))
}

func (c *reportCmd) render(ctx context.Context, reports *records.Reports, id string, o report.Options, w io.Writer) error {
	switch c.As {
	case "csv":
		return reports.TraceCSV(ctx, id, w)
	case "pdf":
		return reports.PDF(ctx, id, w)
	}
	r, err := reports.Report(ctx, id)
	if err != nil {
		return err
	}
	if c.As == "json" {
		return report.JSON(w, r)
	}
	return report.Text(w, r, o)
}

func (c *reportCmd) write(s streams, b []byte) error {
	if c.Out == "" {
		if _, err := s.out.Write(b); err != nil {
			return fmt.Errorf("write to stdout: %w", err)
		}
		return nil
	}
	if err := os.WriteFile(c.Out, b, 0o644); err != nil {
		return fmt.Errorf("-o: %w", err)
	}
	return nil
}
