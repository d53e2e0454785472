// Hopcard reads the logs of a short test flight of a light home-built rotorcraft and
// answers with a test card: lag, damping, gusts, control left, unstable seconds, and
// whether the next card is safe to fly.
//
// Results go to standard output, everything else to standard error. It exits with 0 when
// all went well, 1 for bad input, 2 for wrong usage, and 130 when it was interrupted.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"
)

func main() {
	// A double click on Windows opens the screens like anything else.
	cobra.MousetrapHelpText = ""
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	// After the first signal the next one ends the program at once.
	context.AfterFunc(ctx, stop)
	os.Exit(run(ctx, os.Stdin, os.Stdout, os.Stderr, os.Args[1:]))
}
