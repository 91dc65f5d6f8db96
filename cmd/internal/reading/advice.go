package reading

import (
	"fmt"
	"math"
	"slices"

	"ecart/geometry/uncertainty"
)

// remedy is an action that reduces the uncertainty, and its effect on the request.
type remedy struct {
	do   string
	acts []string                        // the sources that it reduces
	with func(q *Request, m *model) bool // changes q as if done; false: already done, or not applicable
}

var remedies = []remedy{
	{"stand a mat along the line of the movement and mark its four corners", []string{SourceOblique, SourceLandmark, SourcePerspective}, func(q *Request, m *model) bool {
		if m.plane != nil {
			return false
		}
		r := matAround(m, q)
		marks := *q.Marks
		marks.Plane = r
		q.Marks = &marks
		return true
	}},
	{"stand square to the line of the movement, measured along the floor, and say that the camera is squared", []string{SourceOblique}, func(q *Request, m *model) bool {
		if m.plane != nil || q.Camera == "squared" || q.ObliqueDeg > 0 && q.ObliqueDeg <= q.Priors.Oblique.YawDeg["squared"] {
			return false
		}
		q.Camera, q.ObliqueDeg = "squared", 0
		return true
	}},
	{"feel for each landmark, put a sticker on it before the take, and mark the stickers", []string{SourceLandmark}, func(q *Request, m *model) bool {
		if m.leastFound(q) != OnlySeen {
			return false
		}
		q.allFound(Stickered)
		return true
	}},
	{"put a sticker on each landmark as it is felt, before the take, and mark the stickers", []string{SourceLandmark}, func(q *Request, m *model) bool {
		if m.leastFound(q) != Felt {
			return false
		}
		q.allFound(Stickered)
		return true
	}},
	{"mark each point three times", []string{SourcePlacement}, func(q *Request, _ *model) bool {
		marks := *q.Marks
		marks.Marks = nil
		seen := map[string]int{}
		for _, p := range q.Marks.Marks {
			sd := q.click()
			if p.SDPx != nil {
				sd = *p.SDPx
			}
			sd /= math.Sqrt(3)
			p.SDPx = &sd
			if seen[p.Landmark]++; seen[p.Landmark] > 1 {
				return false
			}
			marks.Marks = append(marks.Marks, p)
		}
		q.Marks = &marks
		return true
	}},
	{"mark two points on something level or plumb", []string{SourceLevel}, func(q *Request, m *model) bool {
		if q.Marks.Level != nil || !q.Measure.Level {
			return false
		}
		marks := *q.Marks
		y := float64(q.Take.HeightPx) / 2
		marks.Level = &[2]Pixel{{0.2 * float64(q.Take.WidthPx), y}, {0.8 * float64(q.Take.WidthPx), y}}
		q.Marks = &marks
		return true
	}},
	{"put the camera farther off, zoom in, and say how far off it is", []string{SourcePerspective, SourceDepth}, func(q *Request, m *model) bool {
		if m.perspective == nil || q.DistanceM > 0 || m.focalDrawn {
			return false
		}
		q.DistanceM = q.Priors.Distance.ToM
		return true
	}},
	{"make a lens of this camera from pictures of a board, and read with it", []string{SourceLens, SourcePerspective}, func(q *Request, m *model) bool {
		if m.lens != nil {
			return false
		}
		p := *q.Priors
		p.Lens.LeftOver /= 20 // a calibration leaves some hundredths of a per cent of the height
		q.Priors = &p
		return true
	}},
}

// matAround is a rectangle of 2.4 by 1.2 m seen square on at the picture's principal point,
// made smaller if it does not fit into the picture.
func matAround(m *model, q *Request) *Rectangle {
	scale := m.stature / m.statureMm // px per mm
	w, h := 2400*scale, 1200*scale
	fit := math.Min(1, math.Min(0.9*float64(q.Take.WidthPx)/w, 0.9*float64(q.Take.HeightPx)/h))
	w, h = w*fit, h*fit
	c := m.principal
	return &Rectangle{Corners: [4]Pixel{{c.X - w/2, c.Y - h/2}, {c.X + w/2, c.Y - h/2}, {c.X + w/2, c.Y + h/2}, {c.X - w/2, c.Y + h/2}},
		WidthM: 2.4 * fit, HeightM: 1.2 * fit}
}

// adviceDraws, one batch, gives the width of an interval to a few per cent.
const adviceDraws = 10_006

// worthwhile is the smallest relative reduction of the interval for which a remedy is named.
const worthwhile = 0.05

// advise names the remedy that narrows the interval most, and by how much.
func (q *Request) advise(m *model, r *Reading) []string {
	best, width := "", r.ExpandedUncertaintyDeg*(1-worthwhile)
	for _, c := range remedies {
		then := *q
		if !r.worthTrying(c.acts) || !c.with(&then, m) {
			continue
		}
		b, _, err := then.prepare()
		if err != nil {
			continue
		}
		d, err := uncertainty.MonteCarlo(b.blocks, b.degrees, uncertainty.Options{Seed: q.Seed, Coverage: q.Coverage, MaxDraws: adviceDraws})
		if err != nil {
			continue
		}
		if w := (d.High - d.Low) / 2; w < width {
			best, width = c.do, w
		}
	}
	if best == "" {
		return []string{"no single thing would make this reading much better"}
	}
	_, now := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	_, then := uncertainty.Format(r.AngleDeg, width)
	return []string{fmt.Sprintf("%s: ± %s° would become ± %s°", best, now, then)}
}

// worthTrying reports whether the sources, with the interaction, make up so much of the
// variance that the interval would be narrower by worthwhile without them.
func (r *Reading) worthTrying(sources []string) bool {
	var share float64
	for _, row := range r.Budget {
		if slices.Contains(sources, row.Source) || row.Source == uncertainty.Interaction && row.Share > 0 {
			share += row.Share
		}
	}
	return share >= 1-(1-worthwhile)*(1-worthwhile)
}
