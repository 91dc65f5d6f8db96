package flags

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
)

// AddChart checks that path ends in .png or .svg and can be written; "" is no file.
func AddChart(files *output.Set, path string) error {
	if path == "" {
		return nil
	}
	if ext := strings.ToLower(filepath.Ext(path)); ext != ".png" && ext != ".svg" {
		return fault.New(fmt.Sprintf("the figure %q ends in neither .png nor .svg", path),
			fmt.Sprintf("name it %q", strings.TrimSuffix(path, filepath.Ext(path))+".svg"))
	}
	return files.Add(path, output.Figure)
}

// WriteChart writes a chart as PNG or SVG, by the ending of path.
func WriteChart(ctx context.Context, files *output.Set, path string, d *chart.Drawing) error {
	return files.Write(ctx, path, output.Figure, func(w io.Writer) error {
		if strings.EqualFold(filepath.Ext(path), ".png") {
			return d.PNG(w, chart.PrintDPI)
		}
		return d.SVG(w)
	})
}
