package cli

import (
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/figure"
	"ecart/geometry/uncertainty"
	"ecart/vision/calibrate"
)

// parameterWords say what each parameter is.
var parameterWords = map[string]string{
	"fx": "focal length", "fy": "", "cx": "centre", "cy": "", "k1": "bend", "k2": "", "p1": "decentred", "p2": "", "k3": "bend",
}

// printLens is a lens for a phone's screen.
func printLens(w io.Writer, o lensOptions, r *calibrate.Result) error {
	var p printer
	p.wrap("écart  ", fmt.Sprintf("lens, %d of %d pictures, %d x %d px", r.Count(), len(r.Pictures), r.Lens.Width, r.Lens.Height))
	p.line("")
	p.line("how far its corners are off, and how it leans")
	for _, v := range r.Pictures {
		name := []rune(filepath.Base(v.Name))
		const room = 26
		if len(name) > room {
			name = append([]rune("…"), name[len(name)-room+1:]...)
		}
		switch {
		case v.Stopped:
			p.line("  %-*s %16s", room, string(name), "not searched")
		case v.Corners == nil:
			p.line("  %-*s %16s", room, string(name), "no board")
		case math.IsNaN(v.ResidualPx):
			p.line("  %-*s %16s", room, string(name), "not used")
		default:
			p.line("  %-*s %7.2f px %4.0f°", room, string(name), v.ResidualPx, v.Tilt.Degrees())
		}
		if again := desk.AgainWords(&v); again != "" {
			p.wrap("    again: ", again)
		}
	}
	for _, line := range desk.LensFit(r) {
		p.wrap("  ", line)
	}
	p.line("")
	p.line("the lens, with standard uncertainties (k = 1)")
	untold := false
	for _, q := range r.Parameters {
		v, u := uncertainty.Format(q.Value, q.Standard)
		told := ""
		if !q.Told {
			told, untold = "  not told", true
		}
		p.line("  %-13s %-3s %10s ± %s %s%s", parameterWords[q.Name], q.Name, v, u, q.Unit, told)
	}
	if untold {
		p.wrap("  ", "not told: these pictures say little of it, and it leans on what lenses usually have")
	}
	p.line("")
	for _, a := range r.Advice {
		p.wrap("do next: ", a)
	}
	p.wrap("written: ", o.out)
	if o.figure != "" {
		p.wrap("drawn:   ", o.figure)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// writeLensFigure draws a lens.
func writeLensFigure(ctx context.Context, o *lensOptions, r *calibrate.Result) error {
	img, err := figure.DrawLens(desk.LensFigure(strings.TrimSuffix(filepath.Base(o.out), ".lens.json"), r), figure.Options{})
	if err != nil {
		return err
	}
	return writePNG(ctx, &o.files, o.figure, img)
}
