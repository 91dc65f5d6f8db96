package sticker

import "math"

// ink is what colours a sticker may show. All are as coded, 0 to 255, where a change of light by a
// factor is a factor too (a power law), so that one number does for bright and dim places.
//
// A pixel on the sticker has its colour up to noise, up to light, and up to what it mixes with of
// the ground where the rim or a streak crosses it:
//
//	colour = mean + share (ground - mean) + e,  0 <= share <= 1/2
//	e ~ (0, noise^2 I + spread + light^2 mean mean^T)
//
// The distance of a colour is Mahalanobis's of e, for the best share.
type ink struct {
	mean, ground vec
	linear       vec // the mean as linear light
	inverse      sym // of the covariance of e
	spread       sym // of the colours within the sticker where it was pointed at
	away         vec // inverse * (ground - mean)
	length       float64
	limit        float64 // squared distance up to which a colour is the sticker's
}

const (
	// noise of coded colours, levels: of a sensor in a hall, 2 to 3, and of an encoder's colours, as much
	// again and more. Too large only admits more candidates.
	codedNoise = 5

	// light between two places of a hall differs by half: 1.5^(1/2.2) = 1.2 as coded. One standard
	// deviation.
	codedLight = 0.2

	// mostMixed is the share of the ground up to which a pixel counts as the sticker's.
	mostMixed = 0.5

	// farthest is how far a colour may be, in standard deviations.
	farthest = 3.0
)

func newInk(mean, ground vec, spread sym) ink {
	k := ink{mean: mean, ground: ground, spread: spread, limit: farthest * farthest}
	k.linear = vec{decode(mean.r), decode(mean.g), decode(mean.b)}
	s := spread.plus(sym{}, 0, codedNoise*codedNoise)
	s.outer(mean, codedLight*codedLight)
	k.inverse = s.inverse()
	d := ground.sub(mean)
	k.away = k.inverse.times(d)
	k.length = math.Max(d.dot(k.away), 1e-9)
	return k
}

// distance is the squared distance of a colour, infinite where more than half of it is the ground's.
func (k *ink) distance(c vec) float64 {
	d, _ := k.mixed(c)
	return d
}

// mixed is the squared distance of a colour, for the share of the ground that suits it best, and that share. Where more than
// half is the ground's, which most pixels are, the distance is infinite and is not worked out.
func (k *ink) mixed(c vec) (distance, share float64) {
	q := c.sub(k.mean)
	along := q.dot(k.away)
	if along > mostMixed*k.length {
		return math.Inf(1), 1
	}
	share = max(along/k.length, 0)
	return max(k.inverse.form(q)-2*share*along+share*share*k.length, 0), share
}

// has reports whether a colour is the sticker's.
func (k *ink) has(c vec) bool { return k.distance(c) <= k.limit }

// palette tells, for every colour, which of up to 64 inks it is of, a bit each; and of which it is nearly unmixed.
type palette struct {
	of, pure [1 << (3 * paletteBits)]uint64
}

// paletteBits is how finely each channel is told apart: steps of 8, under twice codedNoise.
const paletteBits = 5

// withinCell is how far a colour may be from the middle of its cell of the palette, in standard deviations: half a step of one
// channel. Without it a sticker falls apart whose ink is taken narrowly.
const withinCell = (256 >> paletteBits) / 2.0 / codedNoise

func newPalette(inks []*ink) *palette {
	p := &palette{}
	const step = 256 >> paletteBits
	for i := range p.of {
		const mask = 1<<paletteBits - 1
		at := func(n int) float64 { return float64(n&mask)*step + (step-1)/2.0 }
		c := vec{at(i >> (2 * paletteBits)), at(i >> paletteBits), at(i)}
		for n, k := range inks {
			d, share := k.mixed(c)
			if reach := math.Min(math.Sqrt(k.limit)+withinCell, farthest); d <= reach*reach {
				p.of[i] |= 1 << n
				if share <= mostMixed/2 {
					p.pure[i] |= 1 << n
				}
			}
		}
	}
	return p
}

// index is the place of a coded colour in the palette.
func index(r, g, b byte) int {
	const cut = 8 - paletteBits
	return int(r>>cut)<<(2*paletteBits) | int(g>>cut)<<paletteBits | int(b>>cut)
}
