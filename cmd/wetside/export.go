package main

import (
	"bufio"
	"context"
	"fmt"

	"wetside/internal/lab"
)

type exportCmd struct {
	Unit string `placeholder:"LAB/UNIT" help:"Only this unit."`
	From string `placeholder:"TIME" help:"From this moment on, by the unit's clock; RFC 3339 such as 2026-03-01T09:30:00Z."`
	To   string `placeholder:"TIME" help:"Before this moment; RFC 3339."`

	Entries bool `help:"Also what people entered: loads, rolls, decisions, containers, figures. replay and import count it in."`
	databaseFlags
}

// Help implements kong.HelpProvider.
func (*exportCmd) Help() string {
	return `Prints stored telemetry as it was received, a capture on stdout. What was refused is not in it; it is listed by the API under /api/v1/quarantine.`
}

// Run implements the command.
func (c *exportCmd) Run(ctx context.Context, s streams) error {
	filter, err := c.filter()
	if err != nil {
		return usageError{err}
	}
	store, done, err := c.open(ctx, quiet(s), false)
	if err != nil {
		return err
	}
	defer done()
	out := bufio.NewWriterSize(s.out, 64<<10)
	w := lab.NewCaptureWriter(out)
	if err := store.Export(ctx, filter, w.Write); err != nil {
		return err
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write the capture: %w", err)
	}
	return nil
}

func (c *exportCmd) filter() (f lab.ExportFilter, err error) {
	f.Entries = c.Entries
	if c.Unit != "" {
		unit, err := lab.ParseUnitID(c.Unit)
		if err != nil {
			return f, fmt.Errorf("--unit: %w", err)
		}
		f.Unit = unit.String()
	}
	if c.From != "" {
		if f.From, err = lab.ParseTime(c.From); err != nil {
			return f, fmt.Errorf("--from: %w", err)
		}
	}
	if c.To != "" {
		if f.To, err = lab.ParseTime(c.To); err != nil {
			return f, fmt.Errorf("--to: %w", err)
		}
		if !f.From.IsZero() && !f.From.Before(f.To) {
			return f, fmt.Errorf("--from %s is not before --to %s", c.From, c.To)
		}
	}
	return f, nil
}
