package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

func (a *app) manualCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "manual DIR",
		Short: "Write the manual pages, one for each command, into a folder",
		Long: `manual writes the manual pages of hopcard and of each of its commands into the folder DIR,
which is made if it is not there. Pages of the same name that lie there are replaced. Put them
into a folder "man1" that man(1) searches; or read one where it lies.`,
		Example: `  hopcard manual ~/.local/share/man/man1
  man ~/.local/share/man/man1/hopcard-report.1`,
		Args: arguments(1, 1, "DIR"),
		RunE: func(cmd *cobra.Command, args []string) error { return a.manual(cmd.Root(), args[0]) },
	}
}

func (a *app) manual(root *cobra.Command, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	// The pages carry the date of SOURCE_DATE_EPOCH where that is set, so that a release
	// is the same bytes whenever it is built.
	root.DisableAutoGenTag = true

	header := &doc.GenManHeader{Section: "1", Source: "hopcard", Manual: "hopcard"}
	if err := doc.GenManTree(root, header, dir); err != nil {
		return err
	}
	fmt.Fprintf(a.stdout, "wrote the manual pages to %s\n", dir)
	return nil
}
