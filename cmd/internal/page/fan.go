package page

import (
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// fan is the angle as it is drawn over the picture, in pixels of the take: SVG path data.
type fan struct {
	Sector   string    `json:"sector"`  // from the first line to the second
	Edge     string    `json:"edge"`    // the sector's arc
	Arms     []string  `json:"arms"`    // the two lines
	Wedges   []string  `json:"wedges"`  // the interval, at the lines that stand for the angle's end
	Asked    []string  `json:"asked"`   // where those lines would be
	Carried  string    `json:"carried"` // the first line drawn on, where the two share no end
	Ellipses []ellipse `json:"ellipses"`
}

// ellipse holds 95 % of where a landmark is. Tilt is in degrees, clockwise as
// seen, as SVG turns.
type ellipse struct {
	Landmark string  `json:"landmark"`
	X        float64 `json:"x"`
	Y        float64 `json:"y"`
	Long     float64 `json:"long"`
	Short    float64 `json:"short"`
	Tilt     float64 `json:"tilt"`
}

// fanOf lays the fan out. A reading without an interval has no wedges.
func fanOf(r *reading.Reading) fan {
	f := draw.NewFan(r, func(x, y float64) draw.Point { return draw.Point{X: x, Y: y} }, 0, math.Inf(1))
	sector := f.Sector()
	out := fan{
		Sector: draw.PathData(true, sector), Edge: draw.PathData(false, sector[1:]),
		Arms: []string{}, Wedges: []string{}, Asked: []string{}, Ellipses: []ellipse{},
	}
	for _, a := range f.Arms {
		out.Arms = append(out.Arms, draw.PathData(false, []draw.Point{a.From, a.To}))
	}
	for _, w := range f.Wedges {
		out.Wedges = append(out.Wedges, draw.PathData(true, f.Slice(w)))
	}
	for _, a := range f.Asked {
		out.Asked = append(out.Asked, draw.PathData(false, a[:]))
	}
	if f.Carried != nil {
		out.Carried = draw.PathData(false, f.Carried[:])
	}
	for _, m := range r.Marks {
		out.Ellipses = append(out.Ellipses, ellipseOf(m))
	}
	return out
}

// ellipseOf has no size where the mark's covariance is none.
func ellipseOf(m reading.Mark) ellipse {
	e, _ := draw.EllipseOf(m)
	return ellipse{m.Landmark, m.X, m.Y, e.Long, e.Short, e.Tilt * 180 / math.Pi}
}
