// Command manpages writes the manual page of every command, in roff, into the given
// folder. 'make package' runs it; it is not part of the package.
package main

import (
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra/doc"

	"ecart/cmd/internal/cli"
)

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: manpages FOLDER VERSION")
		os.Exit(2)
	}
	if err := write(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func write(folder, version string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	root := cli.Command()
	root.DisableAutoGenTag = true
	day := time.Time{} // the same bytes on every day
	return doc.GenManTree(root, &doc.GenManHeader{Title: "ECART", Section: "1", Source: "écart " + version, Manual: "écart", Date: &day}, folder)
}
