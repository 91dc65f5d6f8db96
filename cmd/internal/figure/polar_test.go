package figure

import (
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/draw"
)

// These tests examine finished pictures only. The reading is drawn on a background of one
// colour, by which the picture is located in the result. Colours are then sampled along
// circles about the apex.

var ground = color.NRGBA{0xc8, 0xd2, 0xcc, 0xff}

// seen is a finished picture and the position of the take's pixels in it.
type seen struct {
	img   image.Image
	left  float64
	top   float64
	scale float64
}

func look(t *testing.T, s *sample) seen {
	t.Helper()
	w, h := s.r.Take.WidthPx, s.r.Take.HeightPx
	img, err := Frame(plain(w, h, ground), s.r, Options{Whole: true})
	require.NoError(t, err)
	b := image.Rectangle{Min: image.Pt(math.MaxInt, math.MaxInt), Max: image.Pt(-1, -1)}
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			p, g := rgb(img.At(x, y)), rgb(ground)
			if math.Abs(p[0]-g[0])+math.Abs(p[1]-g[1])+math.Abs(p[2]-g[2]) <= 3 {
				b.Min.X, b.Min.Y = min(b.Min.X, x), min(b.Min.Y, y)
				b.Max.X, b.Max.Y = max(b.Max.X, x+1), max(b.Max.Y, y+1)
			}
		}
	}
	require.InDelta(t, float64(w)/float64(h), float64(b.Dx())/float64(b.Dy()), 0.01, "the picture keeps its shape")
	return seen{img, float64(b.Min.X), float64(b.Min.Y), float64(b.Dx()) / float64(w)}
}

// at returns the colour at a distance, in pixels of the take, and a direction in
// degrees (clockwise from the right) from a point of the take.
func (s seen) at(from point, distance, dir float64) [3]float64 {
	p := draw.Polar(from, distance, dir*math.Pi/180)
	// The centre of a pixel is at a whole number in the take and at a half in the
	// result.
	x, y := s.left+(p.X+0.5)*s.scale, s.top+(p.Y+0.5)*s.scale
	return rgb(s.img.At(int(math.Floor(x)), int(math.Floor(y))))
}

// warm reports whether a colour is a tint of the accent: red exceeds blue by more than in
// the background, paper, ink and the cool colour.
func warm(c [3]float64) bool { return c[0]-c[2] > 14 }

// cool reports whether a colour is that of the asked angle: blue exceeds red.
func cool(c [3]float64) bool { return c[2]-c[0] > 14 }

// strokeTolerance is the half width of the widest stroke with its halo (0.0725 of a text
// size of 42 px at 1280 px) plus 1.5 px for antialiasing.
const strokeTolerance = 0.0725*42.24 + 1.5

const step = 0.1 // degrees between two samples

// checkSector fails unless the circle is warm from the direction from, clockwise over sweep
// degrees, and nowhere else. The neighbourhood of the arms and of the other given lines is
// not checked.
func checkSector(t *testing.T, s seen, apex point, radius, from, sweep float64, lines ...float64) {
	t.Helper()
	tol := strokeTolerance / (radius * s.scale) * 180 / math.Pi
	for d := 0.0; d < 360; d += step {
		c := s.at(apex, radius, from+d)
		atLine := false
		for _, l := range lines {
			atLine = atLine || math.Abs(math.Remainder(from+d-l, 360)) <= tol
		}
		switch {
		case atLine:
		case d > tol && d < sweep-tol:
			if !warm(c) {
				t.Fatalf("at %.1f of %.1f degrees the sector is not drawn: %v", d, sweep, c)
			}
		case d > sweep+tol && d < 360-tol:
			if warm(c) {
				t.Fatalf("at %.1f degrees, beyond %.1f, the sector is still drawn: %v", d, sweep, c)
			}
		}
	}
}

func TestSectorSpansTheAngle(t *testing.T) {
	const w, h = 1280, 800
	hip := point{0.5 * w, 0.46 * h} // as split puts it
	for name, c := range map[string]struct {
		s           *sample
		from, sweep float64 // clockwise as seen
	}{
		// The front leg points right, dipping by 8 degrees; the sector runs below.
		"short":      {split(w, h, 8, 9.6, 0.05), 8, 162.4},
		"over-split": {split(w, h, -4, -6, 0.05), -4, 190},
		// mirrored, the back leg points right and the sector starts there
		"mirrored short":      {split(w, h, 8, 9.6, 0.05).mirror(), 9.6, 162.4},
		"mirrored over-split": {split(w, h, -4, -6, 0.05).mirror(), -6, 190},
		"steep":               {split(w, h, 70, 60, 0.05), 70, 50},
	} {
		t.Run(name, func(t *testing.T) {
			apex := hip
			if c.s.r.Turn < 0 {
				apex.X = w - 1 - hip.X
			}
			s := look(t, c.s)
			// at half a leg's length: inside the arc, away from the ellipse and the name
			checkSector(t, s, apex, 0.5*0.24*w, c.from, c.sweep)
		})
	}
}

func TestSectorPastOverhead(t *testing.T) {
	const w, h, arm = 1280, 1000, 0.30 * 1000
	for name, mirrored := range map[string]bool{"facing right": false, "facing left": true} {
		t.Run(name, func(t *testing.T) {
			c := shoulder(w, h, 190, 0.05)
			apex, from := point{0.5 * w, 0.42 * h}, 92.0-190 // the wrist, then clockwise to the hip
			if mirrored {
				c.mirror()
				apex.X, from = w-1-apex.X, 180-92 // the hip, then clockwise to the wrist
			}
			checkSector(t, look(t, c), apex, 0.5*arm, from, 190)
		})
	}
}

func TestSectorAtAnInnerJoint(t *testing.T) {
	const w, h = 1280, 1000
	// The thigh runs on at 80 degrees, the shank at 80 + 40.
	// The thigh itself comes from 260.
	checkSector(t, look(t, knee(w, h, 40, 0.05)), point{0.52 * w, 0.5 * h}, 0.5*0.3*h, 80, 40, 260)
}

// warmRuns returns the warm arcs of a circle as pairs of directions; gaps narrower than
// join degrees are ignored.
func warmRuns(s seen, apex point, radius, from, join float64) [][2]float64 {
	var runs [][2]float64
	for d := from; d < from+360; d += step {
		if !warm(s.at(apex, radius, d)) {
			continue
		}
		if n := len(runs); n > 0 && d-runs[n-1][1] < join {
			runs[n-1][1] = d
		} else {
			runs = append(runs, [2]float64{d, d})
		}
	}
	return runs
}

// Beyond the arc only the wedges are warm. Between their outer edges is the upper end of
// the interval, between their inner edges the lower end.
func TestWedgesSpanTheInterval(t *testing.T) {
	const w, h, leg = 1280, 800, 0.24 * 1280
	apex, radius := point{0.5 * w, 0.46 * h}, 0.86*leg
	tol := strokeTolerance / (radius * float64(DefaultWidth) / w) * 180 / math.Pi
	for name, iv := range map[string][2]float64{"even": {156, 168.8}, "skewed": {160.4, 172.4}} {
		t.Run(name, func(t *testing.T) {
			c := split(w, h, 8, 9.6, 3)
			c.r.IntervalDeg = iv
			runs := warmRuns(look(t, c), apex, radius, -90, 2.5)
			require.Len(t, runs, 2, "one wedge at each leg: %v", runs)
			front, back := runs[0], runs[1]
			assert.InDelta(t, iv[1], back[1]-front[0], 2*tol, "outer edges")
			assert.InDelta(t, iv[0], back[0]-front[1], 2*tol, "inner edges")
			assert.InDelta(t, (iv[1]-iv[0])/2, front[1]-front[0], 2*tol, "each leg carries half")
		})
	}
}

// If one line is fixed, the other shows the whole interval.
func TestWedgeOfOneMovingLine(t *testing.T) {
	const w, h, arm = 1280, 1000, 0.30 * 1000
	c := shoulder(w, h, 120, 4)
	c.r.IntervalDeg = [2]float64{111, 127}
	apex, radius := point{0.5 * w, 0.42 * h}, 0.86*arm
	runs := warmRuns(look(t, c), apex, radius, 92-180, 2.5)
	tol := strokeTolerance / (radius * float64(DefaultWidth) / w) * 180 / math.Pi
	require.NotEmpty(t, runs)
	assert.InDelta(t, 92-127.0, runs[0][0], tol)
	assert.InDelta(t, 92-111.0, runs[0][1], tol)
}

// coolNear returns the mean direction of the cool pixels within 6 degrees of dir,
// between two distances.
func coolNear(s seen, apex point, r0, r1, dir float64) (mean float64, n int) {
	for r := r0; r < r1; r++ {
		for d := -6.0; d <= 6; d += step {
			if cool(s.at(apex, r, dir+d)) {
				mean += d
				n++
			}
		}
	}
	return dir + mean/float64(max(n, 1)), n
}

// The dashed lines are at the asked angle, symmetric about the middle of the measured one:
// the direction 90 + (8 - 9.6)/2 degrees.
func TestAskedLines(t *testing.T) {
	const w, h, leg = 1280, 800, 0.24 * 1280
	const exact = 0.25 // degrees: half a dash's width at this distance, over many pixels
	apex := point{0.5 * w, 0.46 * h}
	s := look(t, split(w, h, 8, 9.6, 0.5).leap())
	front, n := coolNear(s, apex, 0.4*leg, leg, -0.8)
	require.Greater(t, n, 50)
	back, n := coolNear(s, apex, 0.4*leg, leg, 179.2)
	require.Greater(t, n, 50)
	assert.InDelta(t, 180, back-front, exact)
	assert.InDelta(t, -0.8, front, exact)

	const arm = 0.30 * 1000
	c := shoulder(1280, 1000, 150, 0.5).skill("shoulder overhead", 180, false, []float64{0}, "0.3")
	up, n := coolNear(look(t, c), point{0.5 * 1280, 0.42 * 1000}, 0.4*arm, arm, 92-180)
	require.Greater(t, n, 50)
	assert.InDelta(t, 92-180, up, exact)
}

// A pixel's coordinates are those of its centre: on a frame of 200 pixels enlarged to 1280,
// half a pixel is three of the print. The test examines a mark that is on no line.
func TestMarksStandOnTheirPixels(t *testing.T) {
	const w, h = 200, 160
	const exact = 0.6 // pixels of the print; whole pixels are examined
	c := split(w, h, 8, 9.6, 0.5)
	s := look(t, c)
	m := c.find("shoulder")
	// its expected position, from the edges of the print
	x, y := s.left+(m.X+0.5)*s.scale, s.top+(m.Y+0.5)*s.scale
	var sx, sy, n float64
	const near = 12 // the ellipse's least radius is 0.24 of 42 px, with its halo
	for py := math.Floor(y) - near; py <= math.Floor(y)+near; py++ {
		for px := math.Floor(x) - near; px <= math.Floor(x)+near; px++ {
			p, g := rgb(s.img.At(int(px), int(py))), rgb(ground)
			d := math.Abs(p[0]-g[0]) + math.Abs(p[1]-g[1]) + math.Abs(p[2]-g[2])
			sx, sy, n = sx+d*(px+0.5), sy+d*(py+0.5), n+d
		}
	}
	require.Positive(t, n)
	assert.InDelta(t, x, sx/n, exact)
	assert.InDelta(t, y, sy/n, exact)
}
