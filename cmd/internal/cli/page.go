package cli

import (
	"context"
	"fmt"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/page"
)

// pageOptions are the flags of `ecart page`.
type pageOptions struct {
	port        int
	noOpen      bool
	linger      time.Duration
	data, rules string
	journal     string
}

func newPage(s terminal.Streams) *cobra.Command {
	var o pageOptions
	c := &cobra.Command{
		Use:   "page",
		Short: "the local web page: open a take, place the marks, keep the reading",
		Long: `Starts a page on this machine and opens it in the browser: drop a take, choose
the moment, place the marks with mouse, finger or keys, and see what the number
is worth. The address is printed as well, for a machine without a desktop: it lets
one browser in, once, within five minutes. 'ecart page' once more, with the same
data folder, says a new address.

Takes are copied into the data folder, and marks are stored as they are placed.
The data folder is new, empty or one that 'ecart page' made; any other is refused.
Readings are kept in the journal: see 'ecart journal'.
Nothing leaves this machine. Ctrl-C ends it.`,
		Example: "  ecart page\n  ecart page --no-open --port 8137 --data /media/hall/ecart",
		Args:    flags.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return pageRun(c.Context(), s, o) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.IntVar(&o.port, "port", 0, "the port `N` on this machine; else 52717, or another where that is taken")
	f.BoolVar(&o.noOpen, "no-open", false, "print the address and open no browser")
	f.DurationVar(&o.linger, "linger", 0, "end the page so `LONG` (such as 2m) after its last window was closed; 0 is never")
	f.StringVar(&o.data, "data", "", "keep takes and marks in `FOLDER`; else ecart in your data folder (XDG_DATA_HOME, ~/.local/share)")
	f.StringVar(&o.journal, "journal", "", "keep readings in the journal `FILE`; else "+desk.JournalName+" in the folder of takes and marks")
	flags.AddRulesDir(f, &o.rules)
	return c
}

func pageRun(ctx context.Context, s terminal.Streams, o pageOptions) error {
	if o.port < 0 || o.port > 65535 {
		return fault.New(fmt.Sprintf("--port %d is no port", o.port), "give one from 1024 to 65535, or leave it out to have one chosen")
	}
	if o.linger < 0 {
		return fault.New(fmt.Sprintf("--linger %v is no time to wait", o.linger), "give one such as 2m, or 0 to have the page stay")
	}
	dir, err := desk.DataFolder(o.data)
	if err != nil {
		return err
	}
	file := filepath.Join(dir, desk.JournalName)
	if o.journal != "" {
		if file, err = filepath.Abs(o.journal); err != nil {
			return err
		}
	}
	d := s.Desk(file, o.rules)
	if err := d.CheckJournal(); err != nil {
		return err
	}
	lib, err := d.Library()
	if err != nil {
		return err
	}
	d.WarnRules(lib)
	debug.SetMemoryLimit(pageMemory)
	p, err := page.New(page.Config{
		Dir: dir, Journal: filepath.Base(file), Desk: d.Silent(), Linger: o.linger,
		Demo: func() (string, []byte) {
			clip, _ := demotake.Files()
			return demotake.Name, clip
		},
		Log: func(line string) { fmt.Fprintln(s.Err, terminal.OneLine(line)) },
	})
	if err != nil {
		return err
	}
	defer p.Close()
	l, err := p.Listen(o.port)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(s.Out, "%s\n", p.Address()); err != nil {
		l.Close()
		return err
	}
	fmt.Fprintf(s.Err, "the page is at the address above, which works once, within five minutes; takes and marks are kept in %s; Ctrl-C ends it\n", terminal.OneLine(dir))
	if !o.noOpen {
		if err := openBrowser(p); err != nil {
			fmt.Fprintf(s.Err, "no browser could be opened (%v): open the address by hand\n", terminal.OneLine(err.Error()))
		} else {
			fmt.Fprintln(s.Err, "a browser is being opened; where it shows no page, open the address by hand")
		}
	}
	return p.Serve(ctx, l)
}

// pageMemory is how much memory Go may use before the collector runs more often. With the
// decoders' memory, which Go does not count, the page stays below 1.2 GB.
const pageMemory = 640 << 20

// openBrowser asks the desktop to open the page and does not wait for it. The program gets
// the name of a file that only this user can read: arguments are seen by every user.
func openBrowser(p *page.Server) error {
	path, err := p.OpenFile()
	if err != nil {
		return err
	}
	name := "xdg-open"
	if runtime.GOOS == "darwin" {
		name = "open"
	}
	c := exec.Command(name, path)
	if err := c.Start(); err != nil {
		return err
	}
	go c.Wait()
	return nil
}
