package sticker

import (
	"image"
	"math"
	"slices"

	"ecart/geometry"
)

// candidate is a thing in a picture that may be a sticker, measured at full resolution.
type candidate struct {
	at     geometry.Point
	cov    [2][2]float64 // px^2, from the scatter of the ground's pixels
	area   float64       // px^2, the sum of the shares over level
	long   float64       // longer half axis of the ellipse with the same second moments, px
	short  float64
	colour vec     // mean of its middle, in coded values
	rim    float64 // width of its rim, px
	cut    bool    // it reaches the picture's edge
}

// radius returns that of the circle with the same area, px.
func (c *candidate) radius() float64 { return math.Sqrt(c.area / math.Pi) }

// leastSolidity is the least solidity of a sticker: its area over that of the ellipse with the same second moments, 1 for an ellipse, 3/pi for a square,
// 0.83 for a triangle, less for a thing with arms or holes. The least of 394 seeds on drawn and pasted stickers was 0.87.
const leastSolidity = 0.85

// solid reports whether it may be a flat sticker: a thing with arms or holes is several things, or a part of one.
func (c *candidate) solid() bool { return c.area >= leastSolidity*math.Pi*c.long*c.short }

// measurer measures candidates. It reuses its memory.
type measurer struct {
	win         window
	hasInk      []bool
	near        []bool // pixels within a rim's width of one that has the ink
	share       []float64
	level       float64   // mean share of the pixels that have the ink: 1 for the ink's own colour
	groundShare []float64 // weighted sum of the ground's shares to the four sides of a pixel; each weight is 1 over the distance
	weight      []float64
	above       []bool  // pixels near the ink with more than a given share
	pixels      []int   // of a connected region
	largest     []int   // of the largest one
	inside      []bool  // pixels of the thing without its rim
	core        moments // of the colours of its middle
	cut         bool    // it touches the picture's edge
}

// middleLevel is the share of a pixel, as a part of the sticker's level, above which it is not of the rim.
const middleLevel = 0.8

// rimWidth returns how far the rim of a thing reaches beyond the line of half shares, px: 2 for the blur of lens and
// encoder and for colour stored at half the resolution, and a part of its size for motion blur, which grows with the thing's
// size in the picture.
func rimWidth(box image.Rectangle) int { return 2 + min(box.Dx(), box.Dy())/8 }

// leastPixels is the least number of pixels for a mean colour, and leastArea the least area of a
// sticker, px^2: two and a half samples of colour across, each of two by two pixels. With 28, three samples, 2 % fewer marks in clips of half the size are seen,
// and in clips that it was not chosen on a fifth fewer on stickers of less than 6 px or half hidden; with 14 as many as with 20.
const (
	leastPixels = 4
	leastArea   = 20
)

// measure measures the largest thing in box that has the ink.
//
// The light of a pixel that sticker and ground share is a mixture. Along the axis
//
//	w = S^-1 (ink - ground) / (ink - ground)^T S^-1 (ink - ground)
//
// with S the covariance of the colours on either side (Fisher 1936, Ann Eugenics 7:179), w (light -
// ground) is the sticker's share of the pixel: 0 on the ground and 1 on the sticker. The centre is
// the centroid of the shares, over the connected region and the rim about it. Blur, of motion too,
// leaves the sum of the shares, and their centroid stays where the sticker was in the middle of the exposure.
func (m *measurer) measure(p Picture, k *ink, box image.Rectangle) (c candidate, ok bool) {
	m.win.load(p, box)
	if m.markInk(k); !slices.Contains(m.hasInk, true) { // as in most boxes: only the palette's coarse cells had the ink
		return c, false
	}
	wide := rimWidth(box)
	m.win.load(p, box.Inset(-2*wide-3-max(box.Dx(), box.Dy())/8))
	m.markInk(k)
	m.near = dilated(m.near, m.hasInk, m.win.Dx(), wide)
	scatter, ok := m.shares(k)
	if !ok || !m.gather(box, p.Bounds(), 0.5) && !m.gather(box, p.Bounds(), middleLevel) {
		return c, false
	}
	c = m.sumShares(scatter, wide)
	b, r := p.Bounds(), c.radius()
	c.cut = m.cut || c.at.X < r || c.at.Y < r || c.at.X > float64(b.Dx()-1)-r || c.at.Y > float64(b.Dy()-1)-r
	return c, c.area >= leastArea && c.short > 0
}

// markInk marks the pixels of the window that have the ink.
func (m *measurer) markInk(k *ink) {
	m.hasInk = resized(m.hasInk, m.win.Dx()*m.win.Dy())
	for i := range m.hasInk {
		m.hasInk[i] = k.has(m.win.code(i))
	}
}

// leastShare is the least share of a pixel that counts towards the level of the sticker.
const leastShare = 0.3

// leastScatter is the variance of a share from rounding to eight bits alone: a twelfth of the square of a step, which
// is 1/255 over a contrast of a fifth.
const leastScatter = 3e-5

// shares sets the share of the sticker in each pixel, and the level. scatter is the variance of the shares of the ground.
func (m *measurer) shares(k *ink) (scatter float64, ok bool) {
	axis, ground, ok := m.axis(k)
	if !ok {
		return 0, false
	}
	m.share = resized(m.share, len(m.near))
	var grounds, least float64 // least of the ground and 0
	most := math.Inf(-1)       // of what has the ink
	for i := range m.share {
		f := axis.dot(m.win.light(i).sub(ground))
		m.share[i] = f
		if !m.near[i] {
			scatter += f * f
			grounds++
			least = min(least, f)
		} else if m.hasInk[i] {
			most = max(most, f)
		}
	}
	if (min(most, 1)-least)/(1-least) < leastShare { // correctGround cannot raise a share any higher
		return 0, false
	}
	m.correctGround()
	var n, sum float64
	for i, has := range m.hasInk {
		if has && m.share[i] > leastShare {
			sum += m.share[i]
			n++
		}
	}
	m.level = sum / math.Max(n, 1)
	return scatter/math.Max(grounds, 1) + leastScatter, n >= leastPixels
}

// axis returns the axis of the shares and the mean of the ground, in linear light.
func (m *measurer) axis(k *ink) (axis, ground vec, ok bool) {
	var within, around moments
	for i, near := range m.near {
		if !near {
			around.add(m.win.light(i))
		} else if m.hasInk[i] {
			within.add(m.win.light(i))
		}
	}
	if within.n < leastPixels || around.n < leastPixels {
		return axis, ground, false
	}
	ground = around.mean()
	d := k.linear.sub(ground)
	inv := around.covariance().plus(within.covariance(), 0.1, 1e-4).inverse()
	axis = inv.times(d)
	along := axis.dot(d)
	return vec{}.add(axis, 1/along), ground, along > 0
}

// mostOpenOutline is the limit of the share of a thing's outline at the border of the window, where it may continue.
const mostOpenOutline = 0.2

// gather marks the largest connected region in box of pixels that are near one that has the ink, with more than a part of the sticker's level, and the
// pixels within two of it with more than half of the level. least is a half, or middleLevel for a thing that touches others of its colour. It reports
// whether the window holds the thing.
func (m *measurer) gather(box, all image.Rectangle, least float64) bool {
	w := m.win.Dx()
	m.above = resized(m.above, len(m.near))
	for i, near := range m.near {
		m.above[i] = near && m.share[i] > least*m.level
	}
	m.largest = m.largest[:0]
	box = box.Intersect(m.win.Rectangle).Sub(m.win.Min)
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			if i := y*w + x; m.hasInk[i] && m.above[i] {
				if m.pixels = flood(m.above, w, i, m.pixels); len(m.pixels) > len(m.largest) {
					m.pixels, m.largest = m.largest, m.pixels
				}
			}
		}
	}
	m.inside = resized(m.inside, len(m.near))
	clear(m.inside)
	for _, i := range m.largest {
		m.inside[i] = true
	}
	if least > 0.5 {
		m.inside = dilated(nil, m.inside, w, 2)
	}
	border := 0
	m.core, m.cut = moments{}, false
	for i, in := range m.inside {
		if m.inside[i] = in && m.share[i] > 0.5*m.level; !m.inside[i] {
			continue
		}
		if m.share[i] > middleLevel*m.level {
			m.core.add(m.win.code(i))
		}
		if at := image.Pt(i%w, i/w).Add(m.win.Min); !at.In(all.Inset(1)) {
			m.cut = true
		} else if !at.In(m.win.Inset(1)) {
			border++
		}
	}
	return m.core.n > 0 && float64(border) <= mostOpenOutline*math.Sqrt(float64(len(m.largest))*4*math.Pi)
}

// leastRim is the least share of a pixel of the rim, as a part of the level. What has less is taken for ground: at the distance of the rim, ground of several colours
// moves the centre most. In 8 drawn clips the angle was off by 0.32 degrees with 0, 0.19 with 0.15 and 0.25, and 0.20 with 0.35; at half the size by 0.62, 0.45,
// 0.35 and 0.27.
const leastRim = 0.35

// sumShares returns the thing that gather marked: its centre, area, axes, rim and covariance, from the shares inside and of the rim about it.
func (m *measurer) sumShares(scatter float64, wide int) candidate {
	w := m.win.Dx()
	m.near = dilated(m.near, m.inside, w, wide)
	var s, mixed, sc, sx, sy float64 // of all, and of those that count for the centre
	var places moments               // of the pixels inside
	for i, near := range m.near {
		if !near || !m.inside[i] && m.share[i] > 0.5*m.level {
			continue // ground, or another thing beside it
		}
		f, x, y := m.share[i], float64(i%w), float64(i/w)
		if q := f / m.level; q > 0 && q < 1 {
			mixed += 4 * q * (1 - q)
		}
		s += f
		if m.inside[i] {
			places.add(vec{x, y, 0})
		}
		if f >= leastRim*m.level {
			sc, sx, sy = sc+f, sx+f*x, sy+f*y
		}
	}
	mx, my := sx/sc, sy/sc
	c := candidate{at: geometry.Point{X: mx + float64(m.win.Min.X), Y: my + float64(m.win.Min.Y)}, area: s / m.level, colour: m.core.mean()}
	c.rim = 1.5 * mixed / (2 * math.Sqrt(math.Pi*c.area))
	// An ellipse of half axes a has the second moment a^2/4, and a pixel 1/12. The rim is left out: on a ground of
	// several colours its shares are not 0, and far from the middle they weigh much.
	v := places.covariance()
	a, b, d := 4*v[0]+1.0/3, 4*v[1], 4*v[3]+1.0/3
	mean, off := (a+d)/2, math.Hypot((a-d)/2, b)
	c.long, c.short = math.Sqrt(math.Max(mean+off, 0)), math.Sqrt(math.Max(mean-off, 0))
	scale := scatter * correlatedPixels / (s * s) // d at / d share = (place - at) / s
	for i, near := range m.near {
		if near {
			x, y := float64(i%w)-mx, float64(i/w)-my
			c.cov[0][0] += scale * x * x
			c.cov[0][1] += scale * x * y
			c.cov[1][1] += scale * y * y
		}
	}
	c.cov[1][0] = c.cov[0][1]
	return c
}

// correlatedPixels is the number of pixels that share an error: colour is stored for two by two of them, and an encoder's
// errors spread over more.
const correlatedPixels = 8
