package scene

import (
	"image"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// hash is a repeatable number in [0, 1) for two coordinates.
func hash(x, y float64) float64 {
	h := uint64(int64(x))*0x9e3779b97f4a7c15 ^ uint64(int64(y))*0xc2b2ae3d27d4eb4f
	return float64(scramble(h)>>11) / (1 << 53)
}

// scramble is the finishing step of SplitMix64 (Steele, Lea and Flood 2014).
func scramble(h uint64) uint64 {
	h ^= h >> 30
	h *= 0xbf58476d1ce4e5b9
	h ^= h >> 27
	h *= 0x94d049bb133111eb
	return h ^ h>>31
}

// noise is smooth and repeatable, in [0, 1], about one wave for each unit.
func noise(x, y float64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	u, v := x-fx, y-fy
	u, v = u*u*(3-2*u), v*v*(3-2*v)
	a, b := hash(fx, fy), hash(fx+1, fy)
	c, d := hash(fx, fy+1), hash(fx+1, fy+1)
	return (a*(1-u)+b*u)*(1-v) + (c*(1-u)+d*u)*v
}

// lettering is a word painted on the wall.
type lettering struct {
	mask         *image.Alpha
	left, bottom float64 // m
	scale        float64 // px per m
}

// signs stand in letters this high, at this place on the wall (m).
const (
	letterHigh = 0.25
	signLeft   = 1.15
	signBase   = 2.16
)

func newLettering(text string) *lettering {
	const px = 160
	parsed, err := opentype.Parse(gomedium.TTF)
	if err != nil {
		panic("scene: the embedded font does not parse: " + err.Error())
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: px, DPI: 72})
	if err != nil {
		panic("scene: the embedded font does not open: " + err.Error())
	}
	defer func() { _ = face.Close() }()
	const gap = px / 7 // letters spaced out
	width := fixed.I(0)
	for _, c := range text {
		adv, _ := face.GlyphAdvance(c)
		width += adv + fixed.I(gap)
	}
	mask := image.NewAlpha(image.Rect(0, 0, width.Ceil()+px, px*3/2))
	d := font.Drawer{Dst: mask, Src: image.Opaque, Face: face, Dot: fixed.P(px/4, px)}
	for _, c := range text {
		d.DrawString(string(c))
		d.Dot.X += fixed.I(gap)
	}
	return &lettering{mask: mask, left: signLeft, bottom: signBase, scale: px * 0.72 / letterHigh}
}

// at is how much paint is on a place of the wall, 0 to 1.
func (l *lettering) at(x, y float64) float64 {
	px, py := (x-l.left)*l.scale, float64(l.mask.Rect.Dy())*2/3-(y-l.bottom)*l.scale
	ix, iy := math.Floor(px), math.Floor(py)
	u, v := px-ix, py-iy
	a := func(x, y int) float64 {
		if !(image.Point{x, y}).In(l.mask.Rect) {
			return 0
		}
		return float64(l.mask.Pix[l.mask.PixOffset(x, y)]) / 255
	}
	i, k := int(ix), int(iy)
	return (a(i, k)*(1-u)+a(i+1, k)*u)*(1-v) + (a(i, k+1)*(1-u)+a(i+1, k+1)*u)*v
}
