package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/figure"
	"ecart/geometry"
	"ecart/geometry/uncertainty"
	"ecart/vision/calibrate"
)

// lensReportSchema names the form of `ecart lens --json`.
const lensReportSchema = "ecart/lens-report/1"

type lensReportForm struct {
	Schema       string          `json:"schema"`
	Board        string          `json:"board"`
	SquareMm     *float64        `json:"square_mm,omitempty"`
	Lens         json.RawMessage `json:"lens"` // as in the lens file
	ResidualPx   float64         `json:"residual_px"`
	CornerPx     float64         `json:"corner_px"`
	Disagreement float64         `json:"disagreement"`
	Parameters   []lensParameter `json:"parameters"`
	Pictures     []lensPicture   `json:"pictures"`
	Coverage     lensCoverage    `json:"coverage"`
	Advice       []string        `json:"advice"`
}

type lensParameter struct {
	Name     string  `json:"name"`
	Unit     string  `json:"unit,omitempty"`
	Value    float64 `json:"value"`
	Standard float64 `json:"standard_uncertainty"`
	Told     bool    `json:"told_by_the_pictures"`
}

type lensPicture struct {
	Name       string   `json:"name"`
	Used       bool     `json:"used"`
	ResidualPx *float64 `json:"residual_px"` // null: no board
	TiltDeg    *float64 `json:"tilt_deg"`
	DistanceMm *float64 `json:"distance_mm,omitempty"`
	EdgePx     *float64 `json:"edge_px"`
	Retake     string   `json:"retake,omitempty"`
}

type lensCoverage struct {
	Columns int        `json:"columns"`
	Rows    int        `json:"rows"`
	Counts  []int      `json:"corners"`
	Missing []lensPart `json:"missing"`
}

type lensPart struct {
	Name   string   `json:"name"`
	BendPx *float64 `json:"bend_standard_uncertainty_px"` // null: the lens shows nothing there
}

// known is a number, or nil where it is none.
func known(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func lensReport(r *calibrate.Result, file []byte) lensReportForm {
	out := lensReportForm{
		Schema: lensReportSchema, Board: r.Board.String(), Lens: file, ResidualPx: r.ResidualPx, CornerPx: r.CornerPx, Disagreement: r.Disagreement,
		Coverage: lensCoverage{Columns: r.Coverage.Columns, Rows: r.Coverage.Rows, Counts: r.Coverage.Counts, Missing: []lensPart{}},
		Advice:   append([]string{}, r.Advice...),
	}
	if r.Board.SquareMm > 0 {
		out.SquareMm = &r.Board.SquareMm
	}
	for _, p := range r.Parameters {
		out.Parameters = append(out.Parameters, lensParameter(p))
	}
	for _, v := range r.Pictures {
		p := lensPicture{Name: v.Name, Used: v.Used, ResidualPx: known(v.ResidualPx), TiltDeg: known(v.Tilt.Degrees()), EdgePx: known(v.EdgePx), Retake: v.Retake}
		if r.Board.SquareMm > 0 {
			p.DistanceMm = known(v.Distance * r.Board.SquareMm)
		}
		out.Pictures = append(out.Pictures, p)
	}
	for _, m := range r.Coverage.Missing {
		out.Coverage.Missing = append(out.Coverage.Missing, lensPart{m.Name, known(m.BendStandard)})
	}
	return out
}

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
		if v.Retake != "" {
			left := ""
			if v.Corners != nil && !v.Used {
				left = "left out; "
			}
			p.wrap("    again: ", left+v.Retake)
		}
	}
	p.wrap("  ", fmt.Sprintf("together %.2f px; a corner is found to %.2f px each way", r.ResidualPx, r.CornerPx))
	if r.Disagreement > disagrees {
		p.wrap("  ", fmt.Sprintf("the pictures differ %.1f times more than that explains (a board that flexes, or blur); what follows is that much wider", r.Disagreement))
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

// disagrees is from where on pictures that differ are worth a word: chance does
// not reach it with ten pictures once in a hundred lenses.
const disagrees = 1.35

// writeLensFigure draws a lens.
func writeLensFigure(ctx context.Context, o *lensOptions, r *calibrate.Result) error {
	img, err := figure.DrawLens(lensFigure(*o, r), figure.Options{})
	if err != nil {
		return err
	}
	return writePNG(ctx, &o.files, o.figure, img)
}

func lensFigure(o lensOptions, r *calibrate.Result) figure.Lens {
	l := r.Lens
	n := figure.Lens{
		Name: strings.TrimSuffix(filepath.Base(o.out), ".lens.json"), Width: l.Width, Height: l.Height,
		Across: r.Board.Columns, Columns: r.Coverage.Columns, Rows: r.Coverage.Rows, Counts: r.Coverage.Counts,
		Centre: geometry.Point{X: l.Cx, Y: l.Cy}, Bend: l.Distort,
	}
	for _, v := range r.Pictures {
		if !v.Used {
			continue
		}
		n.Boards = append(n.Boards, v.Corners)
		for _, p := range v.Corners {
			n.Reach = math.Max(n.Reach, p.Sub(n.Centre).Norm())
		}
	}
	// out to the farthest corner of the picture
	far := geometry.Vec{}
	for _, c := range []geometry.Point{{}, {X: float64(l.Width)}, {Y: float64(l.Height)}, {X: float64(l.Width), Y: float64(l.Height)}} {
		if v := c.Sub(n.Centre); v.Norm() > far.Norm() {
			far = v
		}
	}
	const steps = 60
	for i := range steps + 1 {
		v := far.Scale(float64(i) / steps)
		straight, err := l.Undistort(n.Centre.Add(v))
		if err != nil {
			break // nothing shows there
		}
		radius := v.Norm()
		n.Curve = append(n.Curve, figure.LensShift{RadiusPx: radius, ShiftPx: radius - straight.Sub(n.Centre).Norm(), StandardPx: r.BendStandard(n.Centre.Add(v))})
	}
	return n
}
