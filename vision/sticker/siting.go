package sticker

import "math"

// A clip stores colour at half the resolution of luma, and says where its samples lie. Many a
// program that wrote one says it wrongly: then the colours of the whole picture lie half a pixel
// off, and a sticker, which is known by its colour, with them. Its own rim tells: there luma and
// colour change at one place.

// luma and chroma after Rec. ITU-R BT.709, item 3
const (
	lumaR, lumaG, lumaB = 0.2126, 0.7152, 0.0722
	chromaR, chromaB    = 1.5748, 1.8556
)

// part is what of a picture a window holds.
type part int

const (
	whole  part = iota
	luma        // coded luma, in place of light
	chroma      // coded chroma
)

// split fills the window with one part alone.
func (w *window) split() {
	for i := range w.light {
		c := w.coded.Pix[4*i : 4*i+4 : 4*i+4]
		r, g, b := float32(c[0])/255, float32(c[1])/255, float32(c[2])/255
		y := lumaR*r + lumaG*g + lumaB*b
		if w.part == luma {
			w.light[i] = [3]float32{y}
		} else {
			w.light[i] = [3]float32{(r - y) / chromaR, 0, (b - y) / chromaB}
		}
	}
}

// siting gathers how far the colours of stickers are from their luma, and those of all that the
// pictures show.
type siting struct {
	sum, weight, frames [2]float64
	seeker              seeker
	edges               edges
}

// clearLuma is the scatter of luma about a sticker, where the sticker is 1, up to which its rim
// is clear.
const clearLuma = 0.12

// see takes in a picture and what the follower took in it.
func (s *siting) see(p Picture, f *follower) {
	for _, t := range f.stickers {
		if t.state != Seen || t.taken.share < 0.9 {
			continue
		}
		var at [2]result
		good := true
		for i, part := range []part{luma, chroma} {
			s.seeker.win.part = part
			o := t.taken.outline
			s.seeker.win.load(p, around(o.at, int(2*o.radius()+o.long/2)+14))
			b := &belief{outline: o, shape: 0.03, blurRange: 0.5, longRange: 0.3}
			r, ok := s.seeker.fitter.fit(&s.seeker.win, o, b)
			if !ok || !r.likely() || r.noise.around > clearLuma {
				good = false
				break
			}
			at[i] = r
		}
		if !good {
			continue
		}
		for k, off := range [2]float64{at[1].at.X - at[0].at.X, at[1].at.Y - at[0].at.Y} {
			v := at[0].cov[k][k] + at[1].cov[k][k]
			s.sum[k] += off / v
			s.weight[k] += 1 / v
			s.frames[k]++
		}
	}
}

// How likely it is that colours lie half a pixel to the left or above, where they belong, or to
// the right or below, before a picture is looked at: many encoders take the mean of two
// neighbours, whose place is between them, and leave the clip marked as if it were at the left.
var sitingPrior = [2][3]float64{{0.4, 0.5, 0.1}, {0.05, 0.9, 0.05}}

// What an encoder does to a rim stays from frame to frame: a few frames tell hardly more than
// one, and none better than sitingSD, px.
const (
	halfPixelOff = 0.5
	sitingSD     = 0.25
)

// told is how far off something says the colours are, and one over its variance.
type told struct{ off, weight float64 }

// shift is how far the colours lie off, and the variance of that: half a pixel one way or the
// other, or not at all, each as likely as what was seen makes it. Other distances do not come
// about, and the chromatic fringes of a lens are far smaller.
func (s *siting) shift() (shift [2]float32, variance [2]float64) {
	for k := range shift {
		var said [2]told
		if s.weight[k] > 0 {
			said[0] = told{s.sum[k] / s.weight[k], 1 / (s.frames[k]/s.weight[k] + sitingSD*sitingSD)}
		}
		if k == 0 {
			off, v := s.edges.off()
			said[1] = told{off, 1 / v}
		}
		if said[0].weight+said[1].weight == 0 {
			continue
		}
		var all, mean, square float64
		for i, p := range sitingPrior[k] {
			at := halfPixelOff * float64(i-1)
			for _, t := range said {
				p *= math.Exp(-(t.off - at) * (t.off - at) * t.weight / 2)
			}
			all += p
			mean += p * at
			square += p * at * at
		}
		if all < 1e-12 { // none of them
			continue
		}
		shift[k], variance[k] = float32(mean/all), square/all-mean*mean/all/all
	}
	return shift, variance
}

// finer is how many steps the table has from one code to the next.
const finer = 16

var linearFine = func() (t [255*finer + 1]float32) {
	for i := range t {
		t[i] = float32(decode(float64(i) / finer))
	}
	return t
}()
