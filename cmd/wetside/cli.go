package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/alecthomas/kong"
)

// The exit statuses of the contract.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2
)

// streams are where a command reads and writes.
type streams struct {
	in  io.Reader
	out io.Writer
	err io.Writer
}

// commands is the whole command line.
type commands struct {
	Replay replayCmd `cmd:"" help:"Judge captures by the rules, with no service at all; alerts and runs on stdout."`
}

const about = `Wetside watches the film processors of a photo lab: what they publish over MQTT, what the rules make of it, alerts and a live board. It advises; it is no safety device.`

// usageError is wrong usage that shows itself only after the arguments were
// taken apart.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// exited carries the status out of the parser when it ends the program
// itself, as after --help.
type exited int

// run does what args say and gives the exit status.
func run(ctx context.Context, args []string, s streams) (code int) {
	defer func() {
		switch r := recover().(type) {
		case nil:
		case exited:
			code = int(r)
		default:
			panic(r)
		}
	}()
	var cmds commands
	parser, err := newParser(&cmds, s)
	if err != nil {
		fmt.Fprintln(s.err, "wetside: the command line is not well formed:", err)
		return exitFailed
	}
	if len(args) == 0 {
		args = []string{"--help"}
		s.out = s.err
		parser.Stdout = s.err
		defer func() { code = exitUsage }()
	}
	parsed, err := parser.Parse(args)
	if err != nil {
		return wrongUsage(s, err, helpFor(err))
	}
	parsed.BindTo(ctx, (*context.Context)(nil))
	parsed.Bind(s)
	return status(s, parsed, parsed.Run())
}

func newParser(cmds *commands, s streams) (*kong.Kong, error) {
	return kong.New(cmds,
		kong.Name("wetside"),
		kong.Description(about),
		kong.Writers(s.out, s.err),
		kong.Exit(func(code int) { panic(exited(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 96, FlagsLast: true}),
	)
}

// status tells of err and gives the exit status that goes with it.
func status(s streams, parsed *kong.Context, err error) int {
	var wrong usageError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &wrong):
		return wrongUsage(s, wrong.error, "wetside "+parsed.Selected().Path())
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(s.err, "wetside: stopped before it was done")
	default:
		fmt.Fprintln(s.err, "wetside:", err)
	}
	return exitFailed
}

// helpFor names the command whose help says more about a parse error.
func helpFor(err error) string {
	var parse *kong.ParseError
	if errors.As(err, &parse) && parse.Context != nil {
		if node := parse.Context.Selected(); node != nil {
			return "wetside " + node.Path()
		}
	}
	return "wetside"
}

func wrongUsage(s streams, err error, command string) int {
	fmt.Fprintf(s.err, "wetside: %v\n%s --help says what would be right.\n", err, command)
	return exitUsage
}
