package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
)

// addChart checks the name of a chart, "" for none, and that it can be written.
func addChart(files *output.Set, path string) error {
	if path == "" {
		return nil
	}
	if ext := strings.ToLower(filepath.Ext(path)); ext != ".png" && ext != ".svg" {
		return fault.New(fmt.Sprintf("the figure %q ends in neither .png nor .svg", path),
			fmt.Sprintf("name it %q", strings.TrimSuffix(path, filepath.Ext(path))+".svg"))
	}
	return files.Add(path, output.Figure)
}

// writeChart writes a chart in the form that the file's name ends in.
func writeChart(ctx context.Context, files *output.Set, path string, d *chart.Drawing) error {
	return files.Write(ctx, path, output.Figure, func(w io.Writer) error {
		if strings.EqualFold(filepath.Ext(path), ".png") {
			return d.PNG(w, chart.PrintDPI)
		}
		return d.SVG(w)
	})
}

// drawChange draws what was asked for: the months, and before and after.
func drawChange(ctx context.Context, o changeOptions, c *desk.Change) error {
	if o.sessions != "" && len(c.Sessions) == 0 {
		return noSessions(c.Athlete)
	}
	t := c.Trends[0]
	for _, f := range []struct {
		path string
		draw func() (*chart.Drawing, error)
	}{
		{o.figure, func() (*chart.Drawing, error) {
			return c.Chart(chart.Options{})
		}},
		{o.sessions, func() (*chart.Drawing, error) {
			return chart.Steps(chart.StepsData{Who: c.Athlete, Measure: c.Measure, Steps: c.Sessions, AskedDeg: t.AskedDeg, AtMost: t.AtMost}, chart.Options{})
		}},
	} {
		if f.path == "" {
			continue
		}
		d, err := f.draw()
		if err != nil {
			return err
		}
		if err := writeChart(ctx, &o.files, f.path, d); err != nil {
			return err
		}
	}
	return nil
}
