package lens

import (
	"encoding/json"
	"math"

	"ecart/cmd/internal/figure"
	"ecart/geometry"
	"ecart/vision/calibrate"
)

// ReportSchema names the form of `ecart lens --json`.
const ReportSchema = "ecart/lens-report/1"

// Report is the result of a lens calibration, as JSON.
type Report struct {
	Schema       string          `json:"schema"`
	Board        string          `json:"board"`
	SquareMm     *float64        `json:"square_mm,omitempty"`
	Lens         json.RawMessage `json:"lens"` // as in the lens file
	ResidualPx   float64         `json:"residual_px"`
	CornerPx     float64         `json:"corner_px"`
	Disagreement float64         `json:"disagreement"`
	Parameters   []Parameter     `json:"parameters"`
	Pictures     []Picture       `json:"pictures"`
	Coverage     Coverage        `json:"coverage"`
	Advice       []string        `json:"advice"`
}

// Parameter is a parameter of a lens with its standard uncertainty.
type Parameter struct {
	Name     string  `json:"name"`
	Unit     string  `json:"unit,omitempty"`
	Value    float64 `json:"value"`
	Standard float64 `json:"standard_uncertainty"`
	Told     bool    `json:"told_by_the_pictures"`
}

// Picture is one picture of the board; nil is unknown.
type Picture struct {
	Name       string   `json:"name"`
	Used       bool     `json:"used"`
	ResidualPx *float64 `json:"residual_px"` // null: no board
	TiltDeg    *float64 `json:"tilt_deg"`
	DistanceMm *float64 `json:"distance_mm,omitempty"`
	EdgePx     *float64 `json:"edge_px"`
	Retake     string   `json:"retake,omitempty"`
}

// Coverage is which parts of the picture had corners.
type Coverage struct {
	Columns int    `json:"columns"`
	Rows    int    `json:"rows"`
	Counts  []int  `json:"corners"`
	Missing []Part `json:"missing"`
}

// Part is a part of the picture without a corner.
type Part struct {
	Name   string   `json:"name"`
	BendPx *float64 `json:"bend_standard_uncertainty_px"` // null: the lens shows nothing there
}

// finite returns v, or nil if it is not a number.
func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// NewReport returns the report of a result; file is the lens file.
func NewReport(r *calibrate.Result, file []byte) Report {
	out := Report{
		Schema: ReportSchema, Board: r.Board.String(), Lens: file, ResidualPx: r.ResidualPx, CornerPx: r.CornerPx, Disagreement: r.Disagreement,
		Coverage: Coverage{Columns: r.Coverage.Columns, Rows: r.Coverage.Rows, Counts: r.Coverage.Counts, Missing: []Part{}},
		Advice:   append([]string{}, r.Advice...),
	}
	if r.Board.SquareMm > 0 {
		out.SquareMm = &r.Board.SquareMm
	}
	for _, p := range r.Parameters {
		out.Parameters = append(out.Parameters, Parameter(p))
	}
	for _, v := range r.Pictures {
		p := Picture{Name: v.Name, Used: v.Used, ResidualPx: finite(v.ResidualPx), TiltDeg: finite(v.Tilt.Degrees()), EdgePx: finite(v.EdgePx), Retake: v.Retake}
		if r.Board.SquareMm > 0 {
			p.DistanceMm = finite(v.Distance * r.Board.SquareMm)
		}
		out.Pictures = append(out.Pictures, p)
	}
	for _, m := range r.Coverage.Missing {
		out.Coverage.Missing = append(out.Coverage.Missing, Part{m.Name, finite(m.BendStandard)})
	}
	return out
}

// Figure returns the data of a lens drawing; name is the lens's name in it.
func Figure(name string, r *calibrate.Result) figure.Lens {
	l := r.Lens
	n := figure.Lens{
		Name: name, Width: l.Width, Height: l.Height,
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
			break // the lens shows nothing there
		}
		radius := v.Norm()
		n.Curve = append(n.Curve, figure.LensShift{RadiusPx: radius, ShiftPx: radius - straight.Sub(n.Centre).Norm(), StandardPx: r.BendStandard(n.Centre.Add(v))})
	}
	return n
}
