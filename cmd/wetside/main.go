// Command wetside watches a photo lab's film processors: telemetry in over
// MQTT, what it means by the rules, alerts and a live board out.
//
// It holds flags and commands, and nothing else: main.go signals and exit
// codes, cli.go the command line, each command a file of its own. The service
// is put together in internal/monitor. The exit status is 0 for done, 1 for
// failed, 2 for wrong usage.
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
