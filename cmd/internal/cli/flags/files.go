package flags

import (
	"context"
	"fmt"
	"image"
	"io"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
	"ecart/geometry/camera"

	"github.com/spf13/pflag"
)

// IsPNG returns an error unless the path ends in .png.
func IsPNG(path string) error {
	if ext := filepath.Ext(path); !strings.EqualFold(ext, ".png") {
		return fault.New(fmt.Sprintf("the figure %q does not end in .png, and a PNG is what it will be", path),
			fmt.Sprintf("name it %q", strings.TrimSuffix(path, ext)+".png"))
	}
	return nil
}

// Forms of the files that commands write.
var (
	LensForm     = output.JSON(camera.LensSchema)
	TrackForm    = output.Table("frame,time_s,")
	ReadingsForm = output.Table("\ufeffreading,athlete,day,")
	ExportForm   = output.JSON(journal.Schema)
	KeyForm      = output.JSON(quiz.KeySchema)
	AnswersForm  = output.Sheet()
)

// AddForce adds --force.
func AddForce(f *pflag.FlagSet, files *output.Set) {
	f.BoolVar(&files.Force, "force", false, "replace a file of the same kind that is there already and that écart did not write itself, or cannot make again; inputs, recordings and journals are never replaced")
}

// AddPNG checks that path ends in .png and can be written; "" is no file.
func AddPNG(files *output.Set, path string) error {
	if path == "" {
		return nil
	}
	if err := IsPNG(path); err != nil {
		return err
	}
	return files.Add(path, output.Figure)
}

// WritePNG writes a picture as a figure.
func WritePNG(ctx context.Context, files *output.Set, path string, img image.Image) error {
	return files.Write(ctx, path, output.Figure, func(w io.Writer) error { return figure.EncodePNG(w, img) })
}

// Writes returns a function that writes data.
func Writes(data []byte) func(io.Writer) error {
	return func(w io.Writer) error { _, err := w.Write(data); return err }
}

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
