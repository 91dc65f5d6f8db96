package figure

import (
	"image"
	"image/color"
	"math"

	"github.com/fogleman/gg"

	"ecart/cmd/internal/reading"

	"ecart/cmd/internal/draw"
)

// The samples are invented readings. Their numbers are set, not measured: the tests check
// the drawing.

// sample builds a reading around marks.
type sample struct {
	r *reading.Reading
}

// newSample returns a reading of deg degrees with the standard uncertainty u, a normal
// density and a 95 % interval.
func newSample(measure string, deg, u float64, w, h int) *sample {
	r := &reading.Reading{
		Schema: reading.Schema, Measure: measure,
		Take:     reading.Take{Name: "leap_03.mp4", Frame: 137, TimeS: 2.283, WidthPx: w, HeightPx: h},
		AngleDeg: deg, PictureAngleDeg: deg, StandardUncertaintyDeg: u, ExpandedUncertaintyDeg: 1.96 * u,
		Coverage: 0.95, IntervalDeg: [2]float64{deg - 1.96*u, deg + 1.96*u}, Turn: 1,
		Cautions: []string{"This measures; it does not diagnose. Pain, clicking or giving way: stop, and see a clinician."},
	}
	const bins = 240
	r.Density = reading.Density{FromDeg: deg - 5*u, StepDeg: 10 * u / bins}
	for i := range bins {
		z := (float64(i)+0.5)*10/bins - 5
		r.Density.Values = append(r.Density.Values, math.Exp(-z*z/2)/(u*math.Sqrt(2*math.Pi)))
	}
	return &sample{r}
}

func (s *sample) mark(name string, x, y, sx, sy, rho float64) *sample {
	s.r.Marks = append(s.r.Marks, reading.Mark{Landmark: name, X: x, Y: y, Placements: 3,
		Covariance: [2][2]float64{{sx * sx, rho * sx * sy}, {rho * sx * sy, sy * sy}}})
	return s
}

func (s *sample) find(name string) reading.Mark {
	for _, m := range s.r.Marks {
		if m.Landmark == name {
			return m
		}
	}
	panic("no mark " + name)
}

// line sets line i between two marks.
func (s *sample) line(i int, from, to string) *sample {
	a, b := s.find(from), s.find(to)
	s.r.Lines[i] = reading.Line{From: from, To: to, FromX: a.X, FromY: a.Y, ToX: b.X, ToY: b.Y}
	return s
}

// fixed sets line i from a mark along (dx, dy).
func (s *sample) fixed(i int, from, to string, dx, dy float64) *sample {
	a := s.find(from)
	s.r.Lines[i] = reading.Line{From: from, To: to, FromX: a.X, FromY: a.Y, ToX: a.X + dx, ToY: a.Y + dy, Fixed: true}
	return s
}

// skill adds a skill and its verdict. edges are the lower ends of the bands, in degrees
// short of the threshold; deductions are their names.
func (s *sample) skill(title string, ask float64, atMost bool, edges []float64, deductions ...string) *sample {
	r := s.r
	r.Skill = &reading.SkillRef{Rulebook: "halle-nord", Name: "sample", Title: title, ThresholdDeg: ask, AtMost: atMost,
		Edition: "spring", Source: "agreed by the coaches of Halle Nord", Provenance: "common-practice"}
	// The probability that the shortfall is at most x.
	below := func(x float64) float64 {
		if math.IsInf(x, 1) {
			return 1
		}
		if atMost {
			return normal(ask+x, r) - normal(-ask-x, r)
		}
		return 1 - normal(ask-x, r)
	}
	v := &reading.Verdict{Confidence: 0.95, MeetsProbability: below(edges[0]), ShortfallDeg: ask - r.AngleDeg}
	if atMost {
		v.ShortfallDeg = math.Abs(r.AngleDeg) - ask
	}
	for i, from := range edges {
		b := reading.BandProbability{Deduction: deductions[i], FromDeg: from}
		to := math.Inf(1)
		if i+1 < len(edges) {
			to = edges[i+1]
			b.ToDeg = &to
		}
		b.Probability = below(to) - below(from)
		v.Bands = append(v.Bands, b)
	}
	switch {
	case v.MeetsProbability >= v.Confidence:
		v.Decision = reading.Meets
	case 1-v.MeetsProbability >= v.Confidence:
		v.Decision = reading.Short
	default:
		v.Decision = reading.Undecided
		v.NeededStandardUncertaintyDeg = math.Abs(v.ShortfallDeg-edges[0]) / 1.645
	}
	r.Verdict = v
	return s
}

// normal is the probability that the angle is at most x.
func normal(x float64, r *reading.Reading) float64 {
	return 0.5 * math.Erfc(-(x-r.AngleDeg)/(r.StandardUncertaintyDeg*math.Sqrt2))
}

// split returns a leap seen from the side: the hip in the middle of the picture, the front
// leg below level by front degrees and the back leg by back.
func split(w, h int, front, back, u float64) *sample {
	hip, leg := point{0.5 * float64(w), 0.46 * float64(h)}, 0.24*float64(w)
	s := newSample("hip-split", 180-front-back, u, w, h)
	f, b := draw.Polar(hip, leg, radians(front)), draw.Polar(hip, leg, radians(180-back))
	px := float64(w) / 960
	return s.mark("hip", hip.X, hip.Y, 3.6*px, 2.4*px, 0.2).
		mark("front-ankle", f.X, f.Y, 2.4*px, 2.2*px, 0).
		mark("back-ankle", b.X, b.Y, 3*px, 2*px, -0.4).
		mark("shoulder", hip.X+0.008*float64(w), hip.Y-0.125*float64(w), 2.5*px, 3*px, 0).
		line(0, "hip", "front-ankle").line(1, "hip", "back-ankle")
}

func (s *sample) leap() *sample {
	return s.skill("split leap", 180, false, []float64{0, 20, 45}, "0.10", "0.30", "no value")
}

// handstand returns a handstand that leans to the right by deg degrees.
func handstand(w, h int, deg, u float64) *sample {
	wrist := point{0.45 * float64(w), 0.85 * float64(h)}
	ankle := draw.Polar(wrist, 0.7*float64(h), radians(deg-90))
	return newSample("off-vertical", deg, u, w, h).
		mark("wrist", wrist.X, wrist.Y, 4, 3, 0).mark("ankle", ankle.X, ankle.Y, 4, 3, 0).
		fixed(0, "wrist", "plumb", 0, -1).line(1, "wrist", "ankle").
		skill("handstand on bars", 0, true, []float64{10, 30, 45}, "0.10", "0.30", "0.50")
}

// knee returns a knee bent by deg degrees.
func knee(w, h int, deg, u float64) *sample {
	k := point{0.52 * float64(w), 0.5 * float64(h)}
	hip, ankle := draw.Polar(k, 0.3*float64(h), radians(-100)), draw.Polar(k, 0.32*float64(h), radians(80+deg))
	return newSample("knee-bend", deg, u, w, h).
		mark("hip", hip.X, hip.Y, 5, 4, 0).mark("knee", k.X, k.Y, 3, 3, 0).mark("ankle", ankle.X, ankle.Y, 3, 3, 0).
		line(0, "hip", "knee").line(1, "knee", "ankle")
}

// shoulder returns an arm raised by deg degrees from the trunk, facing right.
func shoulder(w, h int, deg, u float64) *sample {
	sh := point{0.5 * float64(w), 0.42 * float64(h)}
	hip, wrist := draw.Polar(sh, 0.34*float64(h), radians(92)), draw.Polar(sh, 0.30*float64(h), radians(92-deg))
	s := newSample("shoulder-flexion", deg, u, w, h).
		mark("hip", hip.X, hip.Y, 5, 6, 0.3).mark("shoulder", sh.X, sh.Y, 4, 4, 0).mark("wrist", wrist.X, wrist.Y, 3, 3, 0).
		line(0, "shoulder", "hip").line(1, "shoulder", "wrist")
	s.r.Turn = -1
	return s
}

// mirror mirrors the reading with its picture.
func (s *sample) mirror() *sample {
	w := float64(s.r.Take.WidthPx)
	over := func(x float64) float64 { return w - 1 - x }
	for i := range s.r.Marks {
		m := &s.r.Marks[i]
		m.X = over(m.X)
		m.Covariance[0][1], m.Covariance[1][0] = -m.Covariance[0][1], -m.Covariance[1][0]
	}
	for i := range s.r.Lines {
		l := &s.r.Lines[i]
		l.FromX, l.ToX = over(l.FromX), over(l.ToX)
	}
	s.r.Turn = -s.r.Turn
	return s
}

func plain(w, h int, c color.Color) image.Image {
	dc := gg.NewContext(w, h)
	dc.SetColor(c)
	dc.Clear()
	return dc.Image()
}

// hall returns a simple background: a wall with bars, a floor, and a body whose limbs run
// through the reading's marks.
func hall(r *reading.Reading) image.Image {
	w, h := float64(r.Take.WidthPx), float64(r.Take.HeightPx)
	dc := gg.NewContext(r.Take.WidthPx, r.Take.HeightPx)
	wall := gg.NewLinearGradient(0, 0, 0, h)
	wall.AddColorStop(0, color.NRGBA{0xc9, 0xcd, 0xc8, 0xff})
	wall.AddColorStop(1, color.NRGBA{0xe4, 0xe6, 0xdf, 0xff})
	dc.SetFillStyle(wall)
	dc.DrawRectangle(0, 0, w, h)
	dc.Fill()
	for i := range 9 {
		dc.SetHexColor("#a98f6c")
		dc.DrawRectangle(0.06*w, (0.1+0.07*float64(i))*h, 0.17*w, 0.012*h)
		dc.Fill()
	}
	dc.SetHexColor("#3f5668")
	dc.DrawRectangle(0.72*w, 0.08*h, 0.2*w, 0.24*h)
	dc.Fill()
	dc.SetHexColor("#b9a283")
	dc.DrawRectangle(0, 0.78*h, w, 0.22*h)
	dc.Fill()
	dc.SetHexColor("#46617c")
	dc.DrawRectangle(0, 0.86*h, w, 0.07*h)
	dc.Fill()

	dc.SetLineCapRound()
	limb := func(a, b point, width float64, c string) {
		dc.SetHexColor(c)
		dc.SetLineWidth(width * min(w, h))
		dc.DrawLine(a.X, a.Y, b.X, b.Y)
		dc.Stroke()
	}
	for _, l := range r.Lines {
		if !l.Fixed {
			limb(point{l.FromX, l.FromY}, point{l.ToX, l.ToY}, 0.065, "#b08367")
		}
	}
	if r.Measure == "hip-split" {
		hip, top := point{r.Lines[0].FromX, r.Lines[0].FromY}, point{r.Marks[3].X, r.Marks[3].Y}
		limb(top, draw.Add(top, point{0.1 * w, -0.09 * h}), 0.04, "#b08367")
		limb(top, draw.Add(top, point{-0.13 * w, 0.02 * h}), 0.04, "#b08367")
		limb(hip, top, 0.11, "#27384a")
		dc.SetHexColor("#b08367")
		dc.DrawCircle(top.X+0.01*w, top.Y-0.11*h, 0.052*h)
		dc.Fill()
	}
	return dc.Image()
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }
