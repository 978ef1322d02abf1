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
	Demo        demoCmd        `cmd:"" help:"Everything on this machine, with a simulated lab: look at it."`
	Serve       serveCmd       `cmd:"" help:"Watch a lab: telemetry in, alerts, the board and the API."`
	Replay      replayCmd      `cmd:"" help:"Judge captures by the rules, with no service at all; alerts and runs on stdout."`
	Record      recordCmd      `cmd:"" help:"What passes on a broker, as a capture on stdout."`
	Export      exportCmd      `cmd:"" help:"Stored telemetry, as a capture on stdout."`
	Import      importCmd      `cmd:"" help:"Take captures in as history; nobody is paged."`
	Backup      backupCmd      `cmd:"" help:"Back up the whole lab while it runs, into a folder."`
	Restore     restoreCmd     `cmd:"" help:"Bring a backup back into an empty place, and verify it."`
	Report      reportCmd      `cmd:"" help:"What happened to the film in one run, as text, JSON, CSV or PDF."`
	Doctor      doctorCmd      `cmd:"" help:"What is wrong with a wetside and its lab, and what to do about it."`
	Verify      verifyCmd      `cmd:"" help:"Check that no record, report or entry was changed since it was sealed."`
	Rolls       rollsCmd       `cmd:"" help:"Rolls: what they are for, and when they are due."`
	Strips      stripsCmd      `cmd:"" help:"Control strips: what their densities tell of the process."`
	Sheets      sheetsCmd      `cmd:"" help:"The process sheets, with where each figure is from."`
	Figures     figuresCmd     `cmd:"" help:"The figures that the rules judge by, with where each is from."`
	Simulate    simulateCmd    `cmd:"" help:"Simulated units on a broker."`
	User        userCmd        `cmd:"" help:"People who sign in to the board."`
	Token       tokenCmd       `cmd:"" help:"Tokens for the API."`
	PageTest    pageTestCmd    `cmd:"" help:"Have the running wetside send a person a test by each contact method, and say how it went."`
	Certificate certificateCmd `cmd:"" help:"Make a certificate authority of the lab's own and a certificate for HTTPS."`
	UnitKey     unitKeyCmd     `cmd:"" help:"Keys with which units connect to the embedded broker."`
	Version     versionCmd     `cmd:"" help:"What was built."`
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
	settings, err := findSettings(args)
	if err != nil {
		return wrongUsage(s, err, "wetside serve")
	}
	var cmds commands
	parser, err := newParser(&cmds, s, settings)
	if err != nil {
		fmt.Fprintln(s.err, "wetside: the command line is not well formed:", err)
		return exitFailed
	}
	if len(args) == 0 {
		fmt.Fprintln(s.err, "wetside: no command is given; the commands are:")
		return noCommand(parser, s)
	}
	parsed, err := parser.Parse(args)
	if err != nil {
		return wrongUsage(s, err, helpFor(err))
	}
	parsed.BindTo(ctx, (*context.Context)(nil))
	parsed.Bind(s)
	return status(s, parsed, parsed.Run())
}

// noCommand shows the help as what is missing.
func noCommand(parser *kong.Kong, s streams) (code int) {
	defer func() {
		if _, ok := recover().(exited); ok {
			code = exitUsage
		}
	}()
	parser.Stdout = s.err
	if _, err := parser.Parse([]string{"--help"}); err != nil {
		return wrongUsage(s, err, "wetside")
	}
	return exitUsage
}

func newParser(cmds *commands, s streams, settings *settingsFile) (*kong.Kong, error) {
	options := []kong.Option{
		kong.Name("wetside"),
		kong.Description(about),
		kong.Writers(s.out, s.err),
		kong.Exit(func(code int) { panic(exited(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 96, FlagsLast: true}),
		kong.Vars{"data": defaultData()},
	}
	if settings != nil {
		options = append(options, kong.Resolvers(settings))
	}
	return kong.New(cmds, options...)
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
