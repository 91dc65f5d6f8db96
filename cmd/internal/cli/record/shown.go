package record

import (
	"context"
	"io"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/output"
)

// asShown has the flags that say how a command shows its result.
type asShown struct {
	files  *output.Set
	figure string // the file of a drawing; "": none
	json   bool   // JSON in place of words
}

// show draws a result into the figure, if one was asked for, and prints it in words or as JSON.
func show[R any](ctx context.Context, s terminal.Streams, as asShown, r R, draw func(R) (*chart.Drawing, error), write func(io.Writer, R) error) error {
	if as.figure != "" {
		d, err := draw(r)
		if err != nil {
			return err
		}
		if err := flags.WriteChart(ctx, as.files, as.figure, d); err != nil {
			return err
		}
	}
	if as.json {
		return terminal.PrintJSON(s.Out, r)
	}
	return write(s.Out, r)
}
