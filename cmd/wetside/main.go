// Command wetside watches a photo lab's film processors: telemetry in over
// MQTT, what it means by the rules, alerts and a live board out.
//
// main.go holds signals and exit codes, cli.go the command line, program.go
// the wiring of the service that the end-to-end tests drive; each command has
// a file of its own. The exit status is 0 for done, 1 for failed, 2 for wrong
// usage.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	// A second signal ends the program at once.
	context.AfterFunc(ctx, stop)
	code := run(ctx, os.Args[1:], streams{in: os.Stdin, out: forTerminal(os.Stdout), err: forTerminal(os.Stderr)})
	stop()
	os.Exit(code)
}
