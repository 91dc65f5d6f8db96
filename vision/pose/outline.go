package pose

import (
	"math"
	"slices"

	"ecart/geometry"
)

// Axis is the axis of a leg or shank by its outline.
type Axis struct {
	On        geometry.Point // a place on it, near the hip, px
	Direction geometry.Angle // from hip to ankle in the picture, y down, radians
	// SD is the standard deviation of the direction, radians, from the scatter of slices and
	// frames. It holds no constant error.
	SD float64
}

// Slices and limits of the outline of a leg. Lengths are parts of the leg's from hip to ankle. Slices go from sliceFrom to
// sliceTo: above, trunk and other leg are in the way, below the foot.
const (
	sliceFrom   = 0.35
	sliceTo     = 0.95
	sliceCount  = 14
	leastSlices = 7
	wideHalf    = 0.16 // half width of the corridor in the first pass
	thinHalf    = 0.11 // and in the later ones: a thigh is some 0.18 of the leg across
	// mostBend is how far the network's knee may be off the line from hip to ankle. The knee
	// is wrong by half of that at times. A smaller bend shows in the slices.
	mostBend = 0.12
	// mostScatter is the limit of the scatter of the slices' middles about a straight line,
	// mostScatterPixels its least value in reduced pixels. A knee bent by 15 degrees gives
	// some 0.009, a straight leg of the drawn athlete 0.0025. The steps of reduced pixels alone
	// give half a pixel.
	mostScatter       = 0.008
	mostScatterPixels = 0.75
	// mostBesideHip is how far the axis may run beside the network's hip. With a knee bent by
	// 15 degrees, the line along the shank runs 0.13 beside it.
	mostBesideHip = 0.1
)

// legOutline fits a straight line through the middles of slices of the foreground, in a
// corridor along the line from hip to ankle. It returns nil where the leg is bent or hidden, or
// too little of it differs from the ground.
func legOutline(picture, ground *reduced, hip, ankle, knee geometry.Point) *Axis {
	along := ankle.Sub(hip)
	length := along.Norm()
	if length < 20*float64(ground.by) {
		return nil
	}
	u := along.Scale(1 / length)
	if k := knee.Sub(hip); math.Abs(u.X*k.Y-u.Y*k.X) > mostBend*length {
		return nil
	}
	a := axisOf(picture, ground, hip, u, length, sliceFrom*length, sliceTo*length)
	if a == nil || math.Abs(a.offset(hip)) > mostBesideHip*length {
		return nil
	}
	return a
}

// shankOutline returns the axis of a shank by its outline, from the network's knee and ankle of a leg of that length, px. It
// returns nil where the shank is hidden, or too little of it differs from the ground.
func shankOutline(picture, ground *reduced, knee, ankle geometry.Point, leg float64) *Axis {
	const from, to = 0.1, 0.9 // part of the shank, between the knee and the foot
	along := ankle.Sub(knee)
	length := along.Norm()
	if length < 10*float64(ground.by) {
		return nil
	}
	a := axisOf(picture, ground, knee, along.Scale(1/length), leg, from*length, to*length)
	if a == nil || math.Abs(a.offset(knee)) > mostBesideHip*leg {
		return nil
	}
	return a
}

// axisOf fits the line through the slices at distances from..to, px, from the place on along the unit vector u. length is the
// leg's, px, and sets the corridor's width.
func axisOf(picture, ground *reduced, on geometry.Point, u geometry.Vec, length, from, to float64) *Axis {
	var sd float64
	for pass := range 4 {
		half := thinHalf * length
		if pass == 0 {
			half = wideHalf * length
		}
		n := geometry.Vec{X: -u.Y, Y: u.X}
		var s, t []float64
		for i := range sliceCount {
			at := from + (to-from)*(float64(i)+0.5)/sliceCount
			if m, ok := sliceMiddle(picture, ground, on.Add(u.Scale(at)), n, half); ok {
				s, t = append(s, at), append(t, m)
			}
		}
		if len(s) < leastSlices {
			return nil
		}
		slope, offset, scatter := fitSlices(s, t)
		if scatter > math.Max(mostScatter*length, mostScatterPixels*float64(ground.by)) {
			return nil
		}
		on = on.Add(n.Scale(offset))
		sin, cos := math.Sincos(math.Atan(slope))
		u = u.Scale(cos).Add(n.Scale(sin))
		mid, squares := 0.0, 0.0
		for _, v := range s {
			mid += v / float64(len(s))
		}
		for _, v := range s {
			squares += (v - mid) * (v - mid)
		}
		sd = scatter / math.Sqrt(squares)
	}
	return &Axis{On: on, Direction: geometry.Angle(math.Atan2(u.Y, u.X)), SD: sd}
}

// sliceMiddle returns the middle of the foreground across a leg, as an offset from p along the
// unit vector n, px. It is false where nothing is foreground, or the foreground reaches half, px, the
// corridor's edge.
func sliceMiddle(picture, ground *reduced, p geometry.Point, n geometry.Vec, half float64) (float64, bool) {
	step := float64(ground.by) / 2
	count := int(half / step)
	var first, last float64
	hits := 0
	// search from the middle outwards, so that the other leg beside this one is left out
	inside := func(k int) bool {
		x, y := picture.place(p.Add(n.Scale(float64(k) * step)))
		return differsAt(picture, ground, x, y)
	}
	centre := 0
	for centre = range count { // the nearest foreground place
		if inside(centre) {
			break
		}
		if inside(-centre) {
			centre = -centre
			break
		}
	}
	if !inside(centre) {
		return 0, false
	}
	lo, hi := centre, centre
	for lo > -count && (inside(lo-1) || inside(lo-2)) {
		lo--
	}
	for hi < count && (inside(hi+1) || inside(hi+2)) {
		hi++
	}
	first, last = float64(lo)*step, float64(hi)*step
	hits = hi - lo
	if hits < 2 || lo <= -count || hi >= count {
		return 0, false
	}
	return (first + last) / 2, true
}

// differsAt reports whether a place of the picture differs from the ground.
func differsAt(picture, ground *reduced, x, y float64) bool {
	i, j := int(math.Round(x)), int(math.Round(y))
	if i < 0 || j < 0 || i >= picture.width || j >= picture.height {
		return false
	}
	at := 3 * (j*picture.width + i)
	d := 0
	for k := at; k < at+3; k++ {
		d = max(d, abs(int(picture.rgb[k])-int(ground.rgb[k])))
	}
	return d > leastDifference
}

// fitSlices fits t = offset + slope s, robust against slices that are wholly wrong. scatter is
// the standard deviation of a slice, from the 80th percentile of the absolute residuals (1.28 standard
// deviations of a normal distribution). It is large for a line that runs along the shank of a bent leg and
// leaves the thigh out.
func fitSlices(s, t []float64) (slope, offset, scatter float64) {
	keep := make([]bool, len(s))
	for i := range keep {
		keep[i] = true
	}
	for range 4 {
		var n, sx, sy, sxx, sxy float64
		for i := range s {
			if keep[i] {
				n, sx, sy, sxx, sxy = n+1, sx+s[i], sy+t[i], sxx+s[i]*s[i], sxy+s[i]*t[i]
			}
		}
		d := n*sxx - sx*sx
		if n < 3 || d <= 0 {
			break
		}
		slope = (n*sxy - sx*sy) / d
		offset = (sy - slope*sx) / n
		var off []float64
		for i := range s {
			off = append(off, math.Abs(t[i]-offset-slope*s[i]))
		}
		sorted := slices.Sorted(slices.Values(off))
		middle := 1.4826 * sorted[len(sorted)/2]
		scatter = sorted[len(sorted)*4/5] / 1.2816
		for i := range off {
			keep[i] = off[i] <= 2*middle+0.5
		}
	}
	return slope, offset, scatter
}

// median returns the upper median, and sorts list; 0 where it is empty.
func median(list []float64) float64 {
	if len(list) == 0 {
		return 0
	}
	slices.Sort(list)
	return list[len(list)/2]
}
