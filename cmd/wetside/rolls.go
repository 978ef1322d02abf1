package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"wetside/web"
)

type rollsCmd struct {
	Send rollsSendCmd `cmd:"" help:"Send in a list of rolls from whatever takes orders."`
}

type rollsSendCmd struct {
	File   string `arg:"" optional:"" default:"-" placeholder:"FILE.csv" help:"The list, a roll a line; - for standard input. Default: -"`
	Server string `env:"WETSIDE_SERVER" required:"" placeholder:"URL" help:"Where wetside is, such as http://127.0.0.1:8080."`
	Token  string `env:"WETSIDE_TOKEN" required:"" placeholder:"TOKEN" help:"An operator's API token (wetside token create). Better given as WETSIDE_TOKEN: others can read a command line."`
}

// Help implements kong.HelpProvider.
func (*rollsSendCmd) Help() string {
	return `Comma, semicolon or tab between. The first line names the columns: twin check, process, push, order, due, film, format, note, stop; without such a line they come in this order. At most 500 rolls a list. What a row says stands in the place of what was known of the roll; sent again, a list changes nothing. Each row is taken or refused by itself: those refused are said on stderr, and the exit status is 1 then.`
}

// Run implements the command.
func (c *rollsSendCmd) Run(ctx context.Context, s streams) error {
	if err := c.server().check(); err != nil {
		return usagef("%s", err)
	}
	list, err := c.read(s)
	if err != nil {
		return err
	}
	a, err := c.send(ctx, list)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%d new, %d changed, %d known already, %d not taken\n", a.New, a.Changed, a.Same, len(a.Refused))
	if len(a.Ignored) > 0 {
		fmt.Fprintf(s.err, "columns not used: %s\n", strings.Join(a.Ignored, ", "))
	}
	for _, r := range a.Refused {
		fmt.Fprintf(s.err, "row %d: %s\n", r.Row, r.Error)
	}
	if n := len(a.Refused); n > 0 {
		return fmt.Errorf("%s: %d of %d rows not taken", c.File, n, n+len(a.Taken))
	}
	return nil
}

func (c *rollsSendCmd) read(s streams) ([]byte, error) {
	if c.File == "-" {
		return io.ReadAll(s.in)
	}
	return os.ReadFile(c.File)
}

func (c *rollsSendCmd) send(ctx context.Context, list []byte) (a web.RollListAnswer, err error) {
	answer, err := c.server().post(ctx, "/rolls.csv", "text/csv", list, nil)
	if err != nil {
		return a, err
	}
	return a, json.Unmarshal(answer, &a)
}

func (c *rollsSendCmd) server() apiServer { return apiServer{c.Server, c.Token} }
