package pose

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// drawn is a picture for tests.
type drawn struct{ *image.RGBA }

func (d drawn) Fill(dst *image.RGBA) {
	r := dst.Rect.Intersect(d.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			dst.SetRGBA(x, y, d.RGBAAt(x, y))
		}
	}
}

func blankPicture(w, h int, c color.RGBA) drawn {
	d := drawn{image.NewRGBA(image.Rect(0, 0, w, h))}
	for y := range h {
		for x := range w {
			d.SetRGBA(x, y, c)
		}
	}
	return d
}

// disc paints the pixels within radius of p.
func (d drawn) disc(p geometry.Point, radius float64, c color.RGBA) {
	for y := int(p.Y - radius - 1); y <= int(p.Y+radius+1); y++ {
		for x := int(p.X - radius - 1); x <= int(p.X+radius+1); x++ {
			if math.Hypot(float64(x)-p.X, float64(y)-p.Y) <= radius {
				d.SetRGBA(x, y, c)
			}
		}
	}
}

// limb paints a capsule from a to b.
func (d drawn) limb(a, b geometry.Point, radius float64, c color.RGBA) {
	n := int(b.Sub(a).Norm()) + 1
	for i := range n + 1 {
		d.disc(a.Add(b.Sub(a).Scale(float64(i)/float64(n))), radius, c)
	}
}

var (
	wall = color.RGBA{200, 200, 190, 255}
	skin = color.RGBA{120, 80, 60, 255}
)

// A spot of the picture appears in the square's pixels where square.picture places it, at any
// size and rotation.
func TestCutAgreesWithTheSquare(t *testing.T) {
	p := blankPicture(900, 700, wall)
	spot := geometry.Point{X: 500, Y: 300}
	p.disc(spot, 12, color.RGBA{255, 0, 0, 255})
	for _, q := range []square{
		{geometry.Point{X: 480, Y: 320}, 200, 0}, {geometry.Point{X: 450, Y: 350}, 640, 0},
		{geometry.Point{X: 480, Y: 330}, 600, 1}, {geometry.Point{X: 520, Y: 280}, 300, -2.5}, {geometry.Point{X: 700, Y: 300}, 900, math.Pi / 2},
	} {
		rgb := q.cut(p)
		require.Len(t, rgb, 3*inner*inner)
		var x, y, n float64
		for i := range inner * inner {
			if w := float64(rgb[3*i]) - float64(rgb[3*i+1]); w > 60 {
				x, y, n = x+w*float64(i%inner), y+w*float64(i/inner), n+w
			}
		}
		require.Positive(t, n)
		got := q.picture(geometry.Point{X: x / n, Y: y / n})
		// the centroid of a disc of pixels is off by less than half a pixel of the cut
		limit := 0.5 * math.Max(1, q.side/inner)
		assert.InDelta(t, spot.X, got.X, limit, "%v", q)
		assert.InDelta(t, spot.Y, got.Y, limit, "%v", q)
	}
}

// bodyInProfile is a body seen from the side whose legs are at angles from the vertical, degrees.
func bodyInProfile(hipAt geometry.Point, left, right float64) *Body {
	b := &Body{Person: 1}
	leg := func(deg float64, r float64) geometry.Point {
		s, c := math.Sincos(deg * math.Pi / 180)
		return geometry.Point{X: hipAt.X + r*s, Y: hipAt.Y + r*c}
	}
	for i := range b.Points {
		b.Points[i] = Point{At: hipAt, Visible: 1, Present: 1}
	}
	for s, deg := range []float64{left, right} {
		b.Points[shoulder+s].At = hipAt.Add(geometry.Vec{Y: -150})
		b.Points[knee+s].At, b.Points[ankle+s].At = leg(deg, 120), leg(deg, 240)
		b.Points[heel+s].At, b.Points[toe+s].At = leg(deg, 250), leg(deg, 280)
	}
	return b
}

// Swinging legs keep their sides, though the network exchanges them in three of ten pictures.
func TestLegsKeepTheirSides(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 1))
		var bodies []*Body
		var swapped []bool
		for i := range 30 {
			b := bodyInProfile(geometry.Point{X: 300 + 20*float64(i), Y: 400}, 5+70*float64(i)/30, -5-60*float64(i)/30)
			for k := range b.Points {
				b.Points[k].At = b.Points[k].At.Add(geometry.Vec{X: 6 * r.NormFloat64(), Y: 6 * r.NormFloat64()})
			}
			wrong := r.Float64() < 0.3
			if wrong {
				b.swap(hip, centre)
			}
			bodies, swapped = append(bodies, b), append(swapped, wrong)
		}
		keepSides(bodies)
		for i, b := range bodies {
			if i >= 3 { // before that, the legs are no farther apart than the noise
				assert.Greater(t, b.Points[ankle].At.X, b.Points[ankle+1].At.X, "seed %d, body %d, swapped %v", seed, i, swapped[i])
			}
		}
	}
}

// In a front view, a third of looks, at narrow squares, that exchange the legs are outvoted by the other looks.
func TestFromTheFrontAllLooksCountTheSame(t *testing.T) {
	var bodies []*Body
	for i := range 11 {
		b := bodyInProfile(geometry.Point{X: 300, Y: 400}, 60, -60)
		b.Points[shoulder].At.X, b.Points[shoulder+1].At.X = 330, 270
		b.Points[centre].At, b.Points[circle].At = geometry.Point{X: 300, Y: 400}, geometry.Point{X: 300, Y: 200}
		b.square = b.next()
		if i%3 == 1 {
			b.square.side *= 0.85
			b.swap(hip, centre)
		}
		bodies = append(bodies, b)
	}
	keepSides(bodies)
	for i, b := range bodies {
		assert.Greater(t, b.Points[ankle].At.X, b.Points[ankle+1].At.X, "body %d", i)
	}
}

// Two outliers among nine values hardly move the parabola.
func TestParabolaResistsOutliers(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 100 {
		var x, y []float64
		for i := -4; i <= 4; i++ {
			v := float64(i)
			x, y = append(x, v), append(y, 160+0.5*v-0.4*v*v+0.05*r.NormFloat64())
		}
		y[r.IntN(9)] -= 50
		y[4] -= 25
		p := fitParabola(x, y)
		assert.InDelta(t, 160, p.a, 0.5)
	}
}

// curveOf returns a curve whose single angles are the smoothed ones.
func curveOf(x, y []float64) *curve {
	c := &curve{x: x, y: y}
	for i := range x {
		c.single = append(c.single, [2]float64{x[i], y[i]})
	}
	return c
}

// The top of a curve that opens faster than it closes is found to 0.001 s. A parabola is 0.005 s off.
func TestTop(t *testing.T) {
	var x, y []float64
	for i := range 17 {
		v := (float64(i) - 8) / 60
		u := v - 0.021
		x, y = append(x, v), append(y, 163-1500*u*u+4000*u*u*u)
	}
	v := curveOf(x, y).top()
	assert.InDelta(t, 0.021, v.at, 0.001)
	assert.InDelta(t, 3000, v.fall, 300, "twice 1500, degrees a second^2")
	assert.Greater(t, v.reach, 0.06)
	y[8] -= 40
	v = curveOf(x, y).top()
	assert.InDelta(t, 0.021, v.at, 0.001, "one angle is wholly wrong")
	assert.InDelta(t, 3000, v.fall, 400)
	assert.Zero(t, curveOf(x[:6], y[:6]).top().fall, "the curve rises to its end")
}

// For a handstand with a Fall of 480 degrees a second^2 and single angles that scatter by 3 degrees, two stated standard
// deviations hold the moment. Where the angle stays the same, the moment may be anywhere among the frames.
func TestHowWellATopIsKnown(t *testing.T) {
	const draws = 400
	random := rand.New(rand.NewPCG(3, 18))
	for _, fall := range []float64{480, 0} {
		held, known, sum := 0, 0, 0.0
		for range draws {
			var c curve
			const top = 0.013
			for i := range 2*farFrames + 1 {
				u := float64(i-farFrames) / 60
				c.x = append(c.x, u)
				c.single = append(c.single, [2]float64{u, 180 - fall/2*(u-top)*(u-top) + 3*random.NormFloat64()})
			}
			for i := range c.single {
				part := c.single[max(0, i-smoothFrames):min(len(c.single), i+smoothFrames+1)]
				mean := 0.0
				for _, v := range part {
					mean += v[1] / float64(len(part))
				}
				c.y = append(c.y, mean)
			}
			s := c.top()
			if s.fall > 0 {
				known++
				sum += s.sd
				held += countIf(math.Abs(s.at-top) <= 2*s.sd)
			} else {
				assert.InDelta(t, 2*farFrames/60./math.Sqrt(12), s.sd, 1e-9)
			}
		}
		if fall == 0 {
			assert.Less(t, known, draws/10, "a top where there is none")
			continue
		}
		assert.Greater(t, known, draws*9/10)
		assert.Greater(t, float64(held), 0.92*float64(known))
		assert.Less(t, sum/float64(known), 0.02, "s")
	}
}

// countIf returns 1 for true, 0 for false.
func countIf(is bool) int {
	if is {
		return 1
	}
	return 0
}

// The outline of a straight leg gives its axis to a third of a degree, with hips and
// ankles that are off by up to a tenth of the leg. A bent leg has no axis.
func TestOutlineOfALeg(t *testing.T) {
	ground := blankPicture(900, 700, wall)
	r := rand.New(rand.NewPCG(3, 4))
	h := geometry.Point{X: 420, Y: 300}
	for deg := -80.0; deg <= 80; deg += 20 {
		for bend := range 2 {
			s, c := math.Sincos(deg * math.Pi / 180)
			k := h.Add(geometry.Vec{X: 150 * s, Y: 150 * c})
			s, c = math.Sincos((deg + 30*float64(bend)) * math.Pi / 180)
			a := k.Add(geometry.Vec{X: 150 * s, Y: 150 * c})
			p := blankPicture(900, 700, wall)
			p.limb(h, k, 28, skin)
			p.limb(k, a, 18, skin)
			for by := 1; by <= 2; by++ {
				picture, behind := shrink(p, p.Bounds(), by), shrink(ground, ground.Bounds(), by)
				off := func(v float64) geometry.Vec {
					return geometry.Vec{X: v * (2*r.Float64() - 1), Y: v * (2*r.Float64() - 1)}
				}
				axis := legOutline(picture, behind, h.Add(off(12)), a.Add(off(25)), k.Add(off(12)))
				if bend == 1 {
					assert.Nil(t, axis, "bent, %v degrees, by %d", deg, by)
					continue
				}
				require.NotNil(t, axis, "%v degrees, by %d", deg, by)
				want := math.Atan2(a.Y-h.Y, a.X-h.X)
				assert.InDelta(t, 0, math.Remainder(float64(axis.Direction)-want, 2*math.Pi)*180/math.Pi, 0.35, "%v degrees, by %d", deg, by)
			}
		}
	}
}

// Two people are two movers, regions near to each other are one, and noise is none.
func TestMovers(t *testing.T) {
	ground := blankPicture(960, 540, wall)
	p := blankPicture(960, 540, wall)
	p.limb(geometry.Point{X: 200, Y: 200}, geometry.Point{X: 200, Y: 400}, 30, skin)
	p.disc(geometry.Point{X: 205, Y: 140}, 25, skin) // the head, with a gap
	p.limb(geometry.Point{X: 700, Y: 250}, geometry.Point{X: 700, Y: 400}, 28, skin)
	p.SetRGBA(500, 100, skin)
	small, behind := shrink(p, p.Bounds(), 4), shrink(ground, ground.Bounds(), 4)
	list, share := movers(small, behind)
	require.Len(t, list, 2)
	assert.InDelta(t, 200, list[0].centroid.X, 5)
	assert.InDelta(t, 700, list[1].centroid.X, 5)
	assert.InDelta(t, list[0].share+list[1].share, share, 0.001)
	list, _ = movers(behind, behind)
	assert.Empty(t, list)
}

// Looks at one body that differ by little agree, also where one of them exchanges left and right. Looks that scatter, and
// looks with too little of the body in the picture, do not.
func TestLooksAgree(t *testing.T) {
	picture := image.Rect(0, 0, 800, 700)
	shaken := func(by float64, seed uint64) []*Body {
		r := rand.New(rand.NewPCG(seed, 5))
		var looks []*Body
		for i := range 3 {
			b := bodyInProfile(geometry.Point{X: 300, Y: 350}, 40, -30)
			for k := range b.Points {
				b.Points[k].At = b.Points[k].At.Add(geometry.Vec{X: by * r.NormFloat64(), Y: by * r.NormFloat64()})
			}
			if i == 1 {
				b.swap(hip, centre)
			}
			looks = append(looks, b)
		}
		return looks
	}
	// the body is 390 px long; three normal looks scatter about their mean by 1.15 of one axis' deviation
	for seed := range uint64(20) {
		assert.LessOrEqual(t, disagreement(shaken(5, seed), picture), mostDisagreement)
		assert.Greater(t, disagreement(shaken(30, seed), picture), mostDisagreement)
	}
	assert.True(t, math.IsInf(disagreement(shaken(1, 1), image.Rect(0, 0, 290, 700)), 1))
}

// A body that moves as a whole is steady; one that lifts both legs by 50 degrees and leans is not.
func TestSteady(t *testing.T) {
	a := bodyInProfile(geometry.Point{X: 300, Y: 350}, 40, -30)
	b := bodyInProfile(geometry.Point{X: 340, Y: 330}, 42, -29)
	assert.True(t, steady(a, b))
	c := bodyInProfile(geometry.Point{X: 300, Y: 350}, 90, -80)
	c.Points[shoulder].At.X, c.Points[shoulder+1].At.X = 380, 380
	assert.False(t, steady(a, c))
}
