package pose

import (
	"image"
	"math"
	"slices"

	"ecart/geometry"
)

// The ground is the background of a clip, a mover a region of the foreground.
const (
	keptSide        = 960   // px: the longer side of a picture that is kept of a clip
	groundPictures  = 15    // number of pictures of which the ground is the median, at most
	moverSide       = 240   // px: the longer side of the pictures in which movers are looked for
	leastDifference = 25    // of 255, in one colour: a pixel that differs from the ground by more is foreground
	leastMoverShare = 0.002 // part of the picture: a body of a tenth of its height covers some 0.003
	stillGround     = 0.35  // part of the picture: if as much or more differs from the ground, the camera moved
)

// medianOf returns the median of each value over pictures of one size: the background, wherever the
// foreground covers it in less than half of the pictures.
func medianOf(pictures []*reduced) *reduced {
	var some []*reduced
	n := min(len(pictures), groundPictures)
	for i := range n {
		some = append(some, pictures[i*(len(pictures)-1)/max(1, n-1)])
	}
	out := *some[0]
	out.rgb = make([]byte, len(some[0].rgb))
	var buffer [groundPictures]byte
	for i := range out.rgb {
		v := buffer[:0]
		for _, p := range some {
			x := p.rgb[i]
			j := len(v)
			for v = append(v, x); j > 0 && v[j-1] > x; j-- {
				v[j] = v[j-1]
			}
			v[j] = x
		}
		out.rgb[i] = v[len(v)/2]
	}
	return &out
}

// smaller averages blocks of by x by pixels.
func (r *reduced) smaller(by int) *reduced {
	out := shrink(ownPixels{r}, image.Rect(0, 0, r.width, r.height), by)
	out.at, out.by = r.at, r.by*by // its places are those of r's own picture
	return out
}

// ownPixels is a reduced picture as a Picture, in reduced pixels.
type ownPixels struct{ *reduced }

func (p ownPixels) Bounds() image.Rectangle { return image.Rect(0, 0, p.width, p.height) }

func (p ownPixels) Fill(dst *image.RGBA) {
	r := dst.Rect.Intersect(p.Bounds())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		from := p.rgb[3*(y*p.width+r.Min.X):]
		to := dst.Pix[dst.PixOffset(r.Min.X, y):]
		for x := range r.Dx() {
			to[4*x], to[4*x+1], to[4*x+2], to[4*x+3] = from[3*x], from[3*x+1], from[3*x+2], 255
		}
	}
}

// mover is a region of the foreground: of what differs from the ground. Places are px of the clip's frames.
type mover struct {
	box      [4]float64 // left, top, right, bottom
	centroid geometry.Point
	share    float64 // part of the picture that it covers
	cut      bool    // it touches the picture's border
}

// square returns the upright square about the middle of the mover's box with grow times its longer side.
func (m *mover) square(grow float64) square {
	return square{centre: geometry.Point{X: (m.box[0] + m.box[2]) / 2, Y: (m.box[1] + m.box[3]) / 2}, side: grow * math.Max(m.box[2]-m.box[0], m.box[3]-m.box[1])}
}

// fills reports whether the mover is as wide or as high as the picture. The camera then moved, and the mover does not
// tell where the person is.
func (m *mover) fills(p *reduced) bool {
	const all = 0.95
	return m.box[2]-m.box[0] > all*float64(p.width*p.by) || m.box[3]-m.box[1] > all*float64(p.height*p.by)
}

// distance from a place to the mover's box, px; 0 inside.
func (m *mover) distance(p geometry.Point) float64 {
	dx := math.Max(0, math.Max(m.box[0]-p.X, p.X-m.box[2]))
	dy := math.Max(0, math.Max(m.box[1]-p.Y, p.Y-m.box[3]))
	return math.Hypot(dx, dy)
}

// difference marks the foreground pixels: those that differ from the ground.
func difference(p, ground *reduced) []bool {
	out := make([]bool, p.width*p.height)
	for i := range out {
		d := 0
		for k := 3 * i; k < 3*i+3; k++ {
			d = max(d, abs(int(p.rgb[k])-int(ground.rgb[k])))
		}
		out[i] = d > leastDifference
	}
	return out
}

func abs(x int) int { return max(x, -x) }

// movers returns the foreground regions, the largest first, and the share of the picture that
// differs from the ground. Regions with a gap of at most a thirtieth of the picture's longer
// side between their boxes are merged, since parts of a body may have the ground's colour.
func movers(p, ground *reduced) (out []mover, share float64) {
	w, h := p.width, p.height
	differs := difference(p, ground)
	label := make([]int32, w*h)
	var stack []int
	gap := float64(p.by*max(w, h)) / 30
	for start := range differs {
		if !differs[start] || label[start] != 0 {
			continue
		}
		label[start] = 1
		stack = append(stack[:0], start)
		m := mover{box: [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}}
		n, sx, sy := 0.0, 0.0, 0.0
		for len(stack) > 0 {
			i := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			x, y := i%w, i/w
			n++
			sx += float64(x)
			sy += float64(y)
			at := p.original(float64(x), float64(y))
			m.box = [4]float64{math.Min(m.box[0], at.X), math.Min(m.box[1], at.Y), math.Max(m.box[2], at.X), math.Max(m.box[3], at.Y)}
			m.cut = m.cut || x == 0 || y == 0 || x == w-1 || y == h-1
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					a, b := x+dx, y+dy
					if a >= 0 && b >= 0 && a < w && b < h && differs[b*w+a] && label[b*w+a] == 0 {
						label[b*w+a] = 1
						stack = append(stack, b*w+a)
					}
				}
			}
		}
		share += n / float64(w*h)
		if n < 4 { // noise
			continue
		}
		m.share = n / float64(w*h)
		m.centroid = p.original(sx/n, sy/n)
		out = append(out, m)
	}
	out = joinNear(out, gap)
	out = slices.DeleteFunc(out, func(m mover) bool { return m.share < leastMoverShare })
	slices.SortStableFunc(out, func(a, b mover) int {
		switch {
		case a.share > b.share:
			return -1
		case a.share < b.share:
			return 1
		}
		return 0
	})
	return out, share
}

// joinNear merges regions whose boxes are no farther apart than gap, px.
func joinNear(list []mover, gap float64) []mover {
	for merged := true; merged; {
		merged = false
		for i := 0; i < len(list); i++ {
			for j := i + 1; j < len(list); j++ {
				a, b := &list[i], &list[j]
				dx := math.Max(0, math.Max(a.box[0]-b.box[2], b.box[0]-a.box[2]))
				dy := math.Max(0, math.Max(a.box[1]-b.box[3], b.box[1]-a.box[3]))
				if math.Hypot(dx, dy) > gap {
					continue
				}
				all := a.share + b.share
				a.centroid = geometry.Point{X: (a.centroid.X*a.share + b.centroid.X*b.share) / all, Y: (a.centroid.Y*a.share + b.centroid.Y*b.share) / all}
				a.box = [4]float64{math.Min(a.box[0], b.box[0]), math.Min(a.box[1], b.box[1]), math.Max(a.box[2], b.box[2]), math.Max(a.box[3], b.box[3])}
				a.share, a.cut = all, a.cut || b.cut
				list[j] = list[len(list)-1]
				list = list[:len(list)-1]
				j--
				merged = true
			}
		}
	}
	return list
}
