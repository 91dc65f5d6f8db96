package takes

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/vision/calibrate"
)

// lensPrintRun writes a board to print.
func lensPrintRun(ctx context.Context, s terminal.Streams, o lensOptions) error {
	if len(o.pictures) > 0 {
		return fault.New(fmt.Sprintf("--print writes a board, and pictures were given too: %q", o.pictures), "give one or the other")
	}
	for _, f := range []struct{ flag, value string }{{"out", o.out}, {"figure", o.figure}} {
		if f.value != "" {
			return fault.New(fmt.Sprintf("--print and --%s do not go together: a board is no lens", f.flag), fmt.Sprintf("leave --%s out", f.flag))
		}
	}
	b, err := o.boardAsked()
	if err != nil {
		return err
	}
	paper, err := calibrate.ParsePaper(o.paper)
	if err != nil {
		return err
	}
	p, err := calibrate.NewPrint(b, paper)
	if err != nil {
		return err
	}
	var write func(io.Writer) error
	switch ext := strings.ToLower(filepath.Ext(o.print)); ext {
	case ".pdf":
		write = p.WritePDF
	case ".png":
		write = p.WritePNG
	default:
		return fault.New(fmt.Sprintf("the board %q ends in neither .pdf nor .png", o.print), fmt.Sprintf("name it %q", strings.TrimSuffix(o.print, filepath.Ext(o.print))+".pdf"))
	}
	if err := o.files.Write(ctx, o.print, output.Figure, write); err != nil {
		return err
	}
	if o.json {
		return terminal.PrintJSON(s.Out, map[string]any{"file": o.print, "board": p.Board.String(), "square_mm": p.Board.SquareMm, "paper": paper.Name})
	}
	var say terminal.Printer
	say.Wrap("", fmt.Sprintf("a board of %s inner corners, squares of %g mm, on %s: %s", p.Board, p.Board.SquareMm, paper.Name, o.print))
	say.Wrap("", "Print it at 100 %, not fitted to the page. Two lines on it are 100 mm long: measure them. Stick it on something flat and stiff.")
	return say.Print(s.Out)
}
