package takes

import (
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/lens"
	"ecart/geometry/uncertainty"
	"ecart/vision/calibrate"
)

// parameterWords describe the parameters.
var parameterWords = map[string]string{
	"fx": "focal length", "fy": "", "cx": "centre", "cy": "", "k1": "bend", "k2": "", "p1": "decentred", "p2": "", "k3": "bend",
}

// printLens prints a lens, narrow enough for a phone.
func printLens(w io.Writer, o lensOptions, r *calibrate.Result) error {
	var p terminal.Printer
	p.Wrap("écart  ", fmt.Sprintf("lens, %d of %d pictures, %d x %d px", r.Count(), len(r.Pictures), r.Lens.Width, r.Lens.Height))
	p.Line("")
	p.Line("how far its corners are off, and how it leans")
	for _, v := range r.Pictures {
		name := []rune(filepath.Base(v.Name))
		const room = 26
		if len(name) > room {
			name = append([]rune("…"), name[len(name)-room+1:]...)
		}
		switch {
		case v.Stopped:
			p.Line("  %-*s %16s", room, string(name), "not searched")
		case v.Corners == nil:
			p.Line("  %-*s %16s", room, string(name), "no board")
		case math.IsNaN(v.ResidualPx):
			p.Line("  %-*s %16s", room, string(name), "not used")
		default:
			p.Line("  %-*s %7.2f px %4.0f°", room, string(name), v.ResidualPx, v.Tilt.Degrees())
		}
		if retake := lens.AgainWords(&v); retake != "" {
			p.Wrap("    again: ", retake)
		}
	}
	for _, line := range lens.FitWords(r) {
		p.Wrap("  ", line)
	}
	p.Line("")
	p.Line("the lens, with standard uncertainties (k = 1)")
	untold := false
	for _, q := range r.Parameters {
		v, u := uncertainty.Format(q.Value, q.Standard)
		note := ""
		if !q.Told {
			note, untold = "  not told", true
		}
		p.Line("  %-13s %-3s %10s ± %s %s%s", parameterWords[q.Name], q.Name, v, u, q.Unit, note)
	}
	if untold {
		p.Wrap("  ", "not told: these pictures say little of it, and it leans on what lenses usually have")
	}
	p.Line("")
	for _, a := range r.Advice {
		p.Wrap("do next: ", a)
	}
	p.Wrap("written: ", o.out)
	if o.figure != "" {
		p.Wrap("drawn:   ", o.figure)
	}
	return p.Print(w)
}

// writeLensFigure draws a lens.
func writeLensFigure(ctx context.Context, o *lensOptions, r *calibrate.Result) error {
	img, err := figure.DrawLens(lens.Figure(strings.TrimSuffix(filepath.Base(o.out), ".lens.json"), r), figure.Options{})
	if err != nil {
		return err
	}
	return flags.WritePNG(ctx, &o.files, o.figure, img)
}
