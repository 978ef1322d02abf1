package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"wetside/internal/strips"
)

type stripsCmd struct {
	Check stripsCheckCmd `cmd:"" help:"Find the signals in a file of control strip readings: limits, run rules, drift."`
	Read  stripsReadCmd  `cmd:"" help:"Take densities from a densitometer's line, a pipe or a file, and send them in."`
	Rate  stripsRateCmd  `cmd:"" help:"How often the signals call falsely, by simulation."`
}

type stripsCheckCmd struct {
	File   string  `arg:"" placeholder:"FILE.csv" help:"The readings, as CSV; - for standard input."`
	Lambda float64 `default:"0.2" help:"Weight of the newest value in the moving average (EWMA). Default: ${default}"`
	Width  float64 `default:"3" help:"Half width of the moving average's limits, in its own sigmas. Default: ${default}"`
	K      float64 `default:"0.5" help:"Slack of the cumulative sums (CUSUM), in sigmas. Default: ${default}"`
	H      float64 `default:"5" help:"Decision interval of the cumulative sums, in sigmas. Default: ${default}"`
}

// Help implements kong.HelpProvider.
func (*stripsCheckCmd) Help() string {
	return `The first row names the columns: at,parameter,value and, where known, aim, sigma, action, control (half widths) and side (both, high or low: of the action and control limits). Each parameter is a chart of its own, in order of time. A field left empty holds as the parameter's last row had it; without aim and sigma the first 20 values set them (mean, mean moving range / 1.128).

Prints JSON Lines {"at","parameter","value","signal","detail"}, a line for each signal, at the point that completes it (strictly beyond a limit; nothing restarts after one). Signals: action-limit, control-limit; we-1 (1 beyond 3 sigma), we-2 (2 of 3 beyond 2 sigma), we-3 (4 of 5 beyond 1 sigma), we-4 (8 in a row on one side), nelson-3 (six in a row rising or falling), ewma, cusum.

One point beyond a control limit asks for a second strip before production stops; the run rules call falsely more often than they seem to, all of them together.`
}

// Run implements the command.
func (c *stripsCheckCmd) Run(_ context.Context, s streams) error {
	settings := strips.Settings{Lambda: c.Lambda, Width: c.Width, K: c.K, H: c.H}
	if err := settings.Check(); err != nil {
		return usageError{fmt.Errorf("--%w", err)}
	}
	rows, ignored, err := c.read(s)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	if len(ignored) > 0 {
		fmt.Fprintf(s.err, "%s: not used: %s\n", c.File, strings.Join(ignored, ", "))
	}
	findings, notes := strips.Check(rows, settings)
	for _, note := range notes {
		fmt.Fprintf(s.err, "%s: %s\n", c.File, note)
	}
	out := bufio.NewWriter(s.out)
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	for _, f := range findings {
		if err := e.Encode(f); err != nil {
			return fmt.Errorf("write to stdout: %w", err)
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write to stdout: %w", err)
	}
	return nil
}

func (c *stripsCheckCmd) read(s streams) ([]strips.Row, []string, error) {
	var from io.Reader = s.in
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			var path *os.PathError
			if errors.As(err, &path) {
				err = path.Err
			}
			return nil, nil, err
		}
		defer f.Close()
		from = f
	}
	return strips.ReadTable(from)
}
