package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	"github.com/charmbracelet/x/term"
	"github.com/spf13/cobra"

	"hopcard/report"
)

// The exit codes. exitInterrupted is what shells give a program ended by an interrupt.
const (
	exitFine        = 0
	exitBadInput    = 1
	exitWrongUsage  = 2
	exitInterrupted = 130
)

// app is what every command works with.
type app struct {
	stdin          io.Reader
	stdout, stderr io.Writer
}

// usageError is an error in how the program was called.
type usageError struct{ error }

// errReported ends a command that has already said on standard error what went wrong.
var errReported = errors.New("already reported")

// run is the whole program, without the process around it.
func run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer, args []string) int {
	a := &app{stdin, stdout, stderr}
	root := a.rootCommand()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	command, err := root.ExecuteContextC(ctx)
	var usage usageError
	switch {
	case err == nil:
		return exitFine
	case ctx.Err() != nil:
		fmt.Fprintln(stderr, "hopcard: stopped")
		return exitInterrupted
	case errors.As(err, &usage):
		a.complain(err)
		fmt.Fprintf(stderr, "for help: %s --help\n", command.CommandPath())
		return exitWrongUsage
	case !errors.Is(err, errReported):
		a.complain(err)
	}
	return exitBadInput
}

// complain writes one error as one line. What it says may come from a log.
func (a *app) complain(err error) {
	fmt.Fprintf(a.stderr, "hopcard: %s\n", report.Short(explain(err), 600))
}

// rootCommand is the command tree. Cobra's own printing of errors and usage is off, so
// that an error is one line.
func (a *app) rootCommand() *cobra.Command {
	root := a.screensCommand()
	root.AddCommand(a.demoCommand(), a.planCommand(), a.checkCommand(), a.reportCommand())
	root.AddCommand(a.predictCommand(), a.compareCommand(), a.trendCommand(), a.exportCommand(), a.watchCommand(), a.manualCommand())
	root.SilenceErrors, root.SilenceUsage = true, true
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.Version = version()
	root.SetVersionTemplate("hopcard {{.Version}}\n")
	return root
}

// arguments makes sure that a command gets between least and most arguments (most < 0:
// any number) and names what is wanted if not.
func arguments(least, most int, want string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return usageError{fmt.Errorf("%s is missing", want)}
		case most >= 0 && len(args) > most:
			return usageError{fmt.Errorf("%q is one argument too many; only %s is taken", args[most], want)}
		}
		return nil
	}
}

// oneOf checks the value of a flag against the values it may have.
func oneOf(flag, value string, allowed ...string) error {
	for _, a := range allowed {
		if value == a {
			return nil
		}
	}
	return usageError{fmt.Errorf("--%s %q is not known; it may be %s", flag, value, strings.Join(allowed, " or "))}
}

// version is what the build says of itself.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of unknown version"
	}
	v := info.Main.Version
	if v == "" || v == "(devel)" {
		v = "development version"
	}
	return v + ", " + info.GoVersion
}

// isTerminal reports whether w is a terminal.
func isTerminal(w any) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(f.Fd())
}
