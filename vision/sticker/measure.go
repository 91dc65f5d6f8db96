package sticker

import (
	"image"
	"math"

	"ecart/geometry"
)

// candidate is a thing in a picture that may be a sticker, measured at full resolution.
type candidate struct {
	at          geometry.Point
	cov         [2][2]float64 // px^2, from the scatter of the ground's pixels
	area        float64       // px^2, the sum of the shares over level
	long        float64       // longer half axis of the ellipse with the same second moments, px
	short       float64
	colour      vec     // mean of its middle, in coded values
	level       float64 // mean share of its pixels of the ink: 1 for the ink's own colour
	rim         float64 // width of its rim, px
	cut         bool    // it reaches the picture's edge
	openOutline float64 // share of its outline at the border of the window, where it may continue
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
	groundShare []float64 // weighted sum of the ground's shares to the four sides of a pixel; each weight is 1 over the distance
	weight      []float64
	lines       []line
	label       []int32
	inside      []bool
	queue       []int32
}

// middleLevel is the share of a pixel, as a part of the sticker's level, above which it is not of the rim.
const middleLevel = 0.8

// rimWidth returns how far the rim of a thing reaches beyond the line of half shares, px: 2 for the blur of lens and
// encoder and for colour stored at half the resolution, and a part of its size for motion blur, which grows with the thing's
// size in the picture.
func rimWidth(box image.Rectangle) int { return 2 + min(box.Dx(), box.Dy())/8 }

// leastPixels is the least number of pixels for a mean colour, and leastArea the least area of a
// sticker, px^2: three samples of colour across, each of two by two pixels.
const (
	leastPixels = 4
	leastArea   = 28
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
func (m *measurer) measure(p Picture, k *ink, box image.Rectangle) (candidate, bool) {
	m.win.load(p, box)
	if m.markInk(k).Empty() { // as in most boxes: only the palette's coarse cells had the ink
		return candidate{}, false
	}
	wide := rimWidth(box)
	pad := 2*wide + 3 + max(box.Dx(), box.Dy())/8
	m.win.load(p, box.Inset(-pad))
	inked := m.markInk(k)
	w, h := m.win.Dx(), m.win.Dy()
	n := w * h
	m.near = dilated(m.near, m.hasInk, w, h, wide)
	axis, ground, ok := m.axis(k)
	if !ok {
		return candidate{}, false
	}
	m.share = resized(m.share, n)
	var scatter, grounds, least float64 // least of the ground and 0
	most := math.Inf(-1)                // of what has the ink
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
		return candidate{}, false
	}
	scatter = scatter/math.Max(grounds, 1) + leastScatter
	m.correctGround(inked.Inset(-wide).Intersect(image.Rect(0, 0, w, h)), w, h)
	c, ok := m.gather(box, p.Bounds(), false)
	if ok && c.openOutline > mostOpenOutline {
		c, ok = m.gather(box, p.Bounds(), true)
	}
	if !ok {
		return c, false
	}
	m.sumShares(&c, scatter, wide)
	b, r := p.Bounds(), c.radius()
	c.cut = c.cut || c.at.X < r || c.at.Y < r || c.at.X > float64(b.Dx()-1)-r || c.at.Y > float64(b.Dy()-1)-r
	return c, c.area >= leastArea && c.short > 0
}

// markInk marks the pixels of the window that have the ink, and returns their box.
func (m *measurer) markInk(k *ink) image.Rectangle {
	w, h := m.win.Dx(), m.win.Dy()
	m.hasInk = resized(m.hasInk, w*h)
	left, top, right, bottom := w, h, 0, 0
	along, most := &k.along, mostMixed*k.groundDistance
	for y := range h {
		row, pix := m.hasInk[y*w:y*w+w], m.win.rgba.Pix[4*y*w:]
		for x := range row {
			p := pix[4*x : 4*x+3 : 4*x+3]
			// most pixels fail the first test, and distance makes it too
			row[x] = along[0][p[0]]+along[1][p[1]]+along[2][p[2]] <= most && k.has(vec{float64(p[0]), float64(p[1]), float64(p[2])})
			if row[x] {
				left, top, right, bottom = min(left, x), min(top, y), max(right, x+1), y+1
			}
		}
	}
	return image.Rectangle{image.Pt(left, top), image.Pt(right, bottom)}
}

// leastShare is the least share of a pixel that counts towards the level of the sticker.
const leastShare = 0.3

// leastScatter is the variance of a share from rounding to eight bits alone: a twelfth of the square of a step, which
// is 1/255 over a contrast of a fifth.
const leastScatter = 3e-5

// axis returns the axis of the shares and the mean of the ground, in linear light.
func (m *measurer) axis(k *ink) (axis, ground vec, ok bool) {
	var within moments
	var n, r, g, b, rr, rg, rb, gg, gb, bb float64 // of the ground, which is most of the window: faster than moments
	for i, near := range m.near {
		if !near {
			c := m.win.light(i)
			n, r, g, b = n+1, r+c.r, g+c.g, b+c.b
			rr, rg, rb = rr+c.r*c.r, rg+c.r*c.g, rb+c.r*c.b
			gg, gb, bb = gg+c.g*c.g, gb+c.g*c.b, bb+c.b*c.b
		} else if m.hasInk[i] {
			within.add(m.win.light(i))
		}
	}
	around := moments{n, vec{r, g, b}, sym{rr, rg, rb, gg, gb, bb}}
	if within.n < leastPixels || around.n < leastPixels {
		return axis, ground, false
	}
	ground = around.mean()
	d := k.linear.sub(ground)
	s := around.covariance().plus(within.covariance(), 0.1, 1e-4)
	inv := s.inverse()
	axis = inv.times(d)
	along := axis.dot(d)
	if !(along > 0) {
		return axis, ground, false
	}
	return vec{}.add(axis, 1/along), ground, true
}

// gather marks the largest connected region in box: pixels that have the ink, or are near one that has,
// with more than half of the sticker's level. If separate is set, for a thing that touches others of its colour, it marks the largest
// region of middleLevel, and the pixels within two of it with more than half of the level.
func (m *measurer) gather(box, all image.Rectangle, separate bool) (c candidate, ok bool) {
	w, h := m.win.Dx(), m.win.Dy()
	var level, n float64
	for i, l := range m.hasInk {
		if l && m.share[i] > leastShare {
			level += m.share[i]
			n++
		}
	}
	if n < leastPixels {
		return c, false
	}
	c.level = level / n
	half := 0.5 * c.level
	least := half
	if separate {
		least = middleLevel * c.level
	}
	m.label = resized(m.label, len(m.hasInk))
	clear(m.label)
	var best, most, next int32
	box = box.Intersect(m.win.Rectangle).Sub(m.win.Min)
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			if i := y*w + x; m.hasInk[i] && m.share[i] > least && m.label[i] == 0 {
				next++
				if n := m.flood(i, least, next); n > most {
					best, most = next, n
				}
			}
		}
	}
	if best == 0 {
		return c, false
	}
	m.inside = resized(m.inside, len(m.hasInk))
	for i, l := range m.label {
		m.inside[i] = l == best
	}
	if separate {
		m.inside = dilated(nil, m.inside, w, h, 2)
	}
	border := 0
	var core moments
	for i, in := range m.inside {
		if m.inside[i] = in && m.share[i] > half; !m.inside[i] {
			continue
		}
		if m.share[i] > middleLevel*c.level {
			core.add(m.win.code(i))
		}
		x, y := i%w, i/w
		if !image.Pt(x, y).Add(m.win.Min).In(all.Inset(1)) {
			c.cut = true
		} else if x == 0 || y == 0 || x == w-1 || y == h-1 {
			border++
		}
	}
	c.openOutline = float64(border) / math.Sqrt(float64(most)*4*math.Pi)
	c.colour = core.mean()
	return c, core.n >= 1
}

// flood labels the connected region of a pixel with shares above half, and counts its pixels.
func (m *measurer) flood(from int, half float64, label int32) (count int32) {
	w, h := m.win.Dx(), m.win.Dy()
	steps := [4]int{1, -1, w, -w}
	m.label[from] = label
	m.queue = append(m.queue[:0], int32(from))
	for len(m.queue) > 0 {
		i := int(m.queue[len(m.queue)-1])
		m.queue = m.queue[:len(m.queue)-1]
		x, y := i%w, i/w
		count++
		for n, has := range [4]bool{x+1 < w, x > 0, y+1 < h, y > 0} {
			if j := i + steps[n]; has && m.label[j] == 0 && m.near[j] && m.share[j] > half {
				m.label[j] = label
				m.queue = append(m.queue, int32(j))
			}
		}
	}
	return count
}

// leastRim is the least share of a pixel of the rim, as a part of the level. What has less is taken for ground: at the distance of the rim, ground of several colours
// moves the centre most. In 8 drawn clips the angle was off by 0.32 degrees with 0, 0.19 with 0.15 and 0.25, and 0.20 with 0.35; at half the size by 0.62, 0.45,
// 0.35 and 0.27.
const leastRim = 0.35

// sumShares sets centre, area, axes, rim and covariance from the shares of the region and the rim about it.
func (m *measurer) sumShares(c *candidate, scatter float64, wide int) {
	w := m.win.Dx()
	m.near = dilated(m.near, m.inside, w, m.win.Dy(), wide)
	var s, mixed, sc, sx, sy float64  // of all, and of those that count for the centre
	var n, nx, ny, xx, xy, yy float64 // of the pixels inside
	for i, near := range m.near {
		if !near || !m.inside[i] && m.share[i] > 0.5*c.level {
			continue // ground, or another thing beside it
		}
		f, x, y := m.share[i], float64(i%w), float64(i/w)
		if q := f / c.level; q > 0 && q < 1 {
			mixed += 4 * q * (1 - q)
		}
		if s += f; !m.inside[i] && f < leastRim*c.level {
			continue
		}
		sc, sx, sy = sc+f, sx+f*x, sy+f*y
		if m.inside[i] {
			n++
			nx += x
			ny += y
			xx += x * x
			xy += x * y
			yy += y * y
		}
	}
	mx, my := sx/sc, sy/sc
	c.at = geometry.Point{X: mx + float64(m.win.Min.X), Y: my + float64(m.win.Min.Y)}
	c.area = s / c.level
	// An ellipse of half axes a has the second moment a^2/4, and a pixel 1/12. The rim is left out: on a ground of
	// several colours its shares are not 0, and far from the middle they weigh much.
	nx, ny = nx/n, ny/n
	a, b, d := 4*(xx/n-nx*nx)+1.0/3, 4*(xy/n-nx*ny), 4*(yy/n-ny*ny)+1.0/3
	mean, off := (a+d)/2, math.Hypot((a-d)/2, b)
	c.long, c.short = math.Sqrt(math.Max(mean+off, 0)), math.Sqrt(math.Max(mean-off, 0))
	c.rim = 1.5 * mixed / (2 * math.Sqrt(math.Pi*c.area))
	// d at / d share = (place - at) / s
	for i, near := range m.near {
		if near {
			x, y := float64(i%w)-mx, float64(i/w)-my
			c.cov[0][0] += x * x
			c.cov[0][1] += x * y
			c.cov[1][1] += y * y
		}
	}
	v := scatter * correlatedPixels / (s * s)
	c.cov[0][0] *= v
	c.cov[0][1] *= v
	c.cov[1][1] *= v
	c.cov[1][0] = c.cov[0][1]
}

// correlatedPixels is the number of pixels that share an error: colour is stored for two by two of them, and an encoder's
// errors spread over more.
const correlatedPixels = 8
