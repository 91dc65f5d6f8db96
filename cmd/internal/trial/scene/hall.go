package scene

import (
	"image"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Hall is the room behind the athlete: a floor at Y = 0, a wall, wall bars and
// mats. Colours are 0xRRGGBB in sRGB.
type Hall struct {
	Wall, Band, Floor uint32
	Strip             uint32  // tumbling strip along the motion; 0 is none
	WallZ             float64 // m, below 0
	Bars              bool    // a set of wall bars
	Sign              string  // painted on the wall
	Mats              []Mat
}

// Mat is a box: a mat or a stack of mats.
type Mat struct {
	Min, Max Vec
	Colour   uint32
	Layers   int // mats in the stack, drawn as seams; 0 means 1
}

// PlainHall is a hall with a paper-white wall with a band and a sign, wall bars, a
// plank floor, a tumbling strip and two mats in pale colours.
func PlainHall() Hall {
	return Hall{
		Wall: 0xe9e9e3, Band: 0xa9b6b8, Floor: 0xcbb492, Strip: 0x9fabab, WallZ: -3.2,
		Bars: true, Sign: "HALLE NORD",
		Mats: []Mat{
			{Min: Vec{2.15, 0, -3.12}, Max: Vec{3.75, 0.66, -2.45}, Colour: 0x64788a, Layers: 3},
			{Min: Vec{4.1, 0, -3.15}, Max: Vec{5.6, 1.5, -2.95}, Colour: 0x8a9aa0},
		},
	}
}

// surface is the first surface of the hall on a ray.
type surface struct {
	light rgb
	floor bool
	x, z  float64 // place on the floor, m, if floor is true
}

// room is a hall with its colours and boxes worked out for ray casting.
type room struct {
	Hall
	wall, band, planks, strip rgb
	mats                      []box
	sign                      *lettering
	barsFrom, barsTo          float64
}

type box struct {
	lo, hi Vec
	colour rgb
	layers int
}

func (h Hall) prepare() *room {
	r := &room{
		Hall: h, wall: hexToLinear(h.Wall), band: hexToLinear(h.Band), planks: hexToLinear(h.Floor), strip: hexToLinear(h.Strip),
		barsFrom: -3.25, barsTo: -2.05,
	}
	for _, m := range h.Mats {
		r.mats = append(r.mats, box{m.Min, m.Max, hexToLinear(m.Colour), max(1, m.Layers)})
	}
	if h.Sign != "" {
		r.sign = newLettering(h.Sign)
	}
	return r
}

// cast returns the first surface on a ray.
func (r *room) cast(from, dir Vec) surface {
	t := math.Inf(1)
	var s surface
	if dir.Y < 0 {
		t = -from.Y / dir.Y
		p := from.Add(dir.Mul(t))
		s = surface{floor: true, x: p.X, z: p.Z}
	}
	if tw := (r.WallZ - from.Z) / dir.Z; dir.Z < 0 && tw < t {
		t = tw
		s = surface{}
	}
	hit := -1
	var normal Vec
	for i := range r.mats {
		if tm, n, ok := r.mats[i].hit(from, dir); ok && tm < t {
			t, hit, normal = tm, i, n
			s = surface{}
		}
	}
	if math.IsInf(t, 1) {
		return surface{light: r.wall.mul(0.9)} // the ray meets neither floor nor wall
	}
	p := from.Add(dir.Mul(t))
	switch {
	case hit >= 0:
		s.light = r.matLight(&r.mats[hit], p, normal)
		return s
	case s.floor:
		s.light = r.floorLight(p, dir)
		return s
	}
	if r.Bars {
		// the bars stand off the wall
		tb := (r.WallZ + barsOff - from.Z) / dir.Z
		q := from.Add(dir.Mul(tb))
		if light, ok := r.barLight(q); ok {
			s.light = light
			return s
		}
	}
	s.light = r.wallLight(p, true)
	return s
}

// decay is exp(-x), cut to 0 for x > 7, where it is too small to be seen.
func decay(x float64) float64 {
	if x > 7 {
		return 0
	}
	return math.Exp(-x)
}

// ceilingLight is the light of the ceiling lamps at a place, as a factor near 1.
func ceilingLight(x, y, z float64) float64 {
	pool := 0.5 + 0.5*math.Cos(2*math.Pi*(x-0.3)/5.2)
	return 0.90 + 0.075*pool + 0.03*clamp((y-1)/2, -1, 1) + 0.02*clamp(z/2, -1, 1)
}

func (r *room) wallLight(p Vec, fine bool) rgb {
	c := r.wall
	const bandLow, bandHigh = 0.70, 0.80
	if p.Y < bandLow {
		c = mix(c, rgb{0.66, 0.655, 0.61}, 0.35)
	}
	if p.Y < bandHigh && p.Y >= bandLow {
		c = r.band
	}
	if p.Y < 0.09 { // skirting
		c = skirting
	}
	l := ceilingLight(p.X, p.Y, p.Z)
	l *= 1 - 0.30*decay(p.Y/0.22) // dim towards the floor
	if !fine {
		return c.mul(l)
	}
	l *= 1 + 0.012*(noise(p.X*1.3, p.Y*1.3)-0.5) + 0.010*(noise(p.X*60, p.Y*60)-0.5)
	if r.sign != nil {
		c = mix(c, r.band.mul(0.93), 0.85*r.sign.at(p.X, p.Y))
	}
	if r.Bars && p.X > r.barsFrom && p.X < r.barsTo+0.1 {
		shade := 0.0
		for _, o := range [4][2]float64{{0.03, 0.07}, {0.05, 0.09}, {0.07, 0.11}, {0.05, 0.13}} {
			if _, ok := r.barAt(p.X-o[0], p.Y+o[1]); ok {
				shade += 0.05
			}
		}
		l *= 1 - shade
	}
	for i := range r.mats {
		m := &r.mats[i]
		d := math.Hypot(max(0, max(m.lo.X-p.X, p.X-m.hi.X)), max(0, p.Y-m.hi.Y))
		gap := m.lo.Z - r.WallZ
		l *= 1 - 0.35*decay(d/(0.10+gap))*decay(gap/0.4)
	}
	return c.mul(l)
}

func (r *room) floorLight(p, dir Vec) rgb {
	var c rgb
	gloss := 1.0
	az := math.Abs(p.Z)
	const half, line = 1.0, 0.05
	switch {
	case r.Strip != 0 && az < half:
		c = r.strip.mul(1 + 0.05*(noise(p.X*90, p.Z*90)-0.5) + 0.03*(noise(p.X*7, p.Z*7)-0.5))
		if az > half-0.14 && az < half-0.14+line {
			c = tape
		}
		gloss = 0.25
	default:
		const width = 0.095
		row := math.Floor(p.Z / width)
		shift := hash(row, 7) * 1.9
		cell := math.Floor((p.X + shift) / 1.9)
		tone := 1 + 0.10*(hash(row, cell)-0.5) + 0.05*(noise(p.X*2.2+hash(row, cell)*50, p.Z*70)-0.5)
		in := math.Abs(p.Z/width - row - 0.5)
		if in > 0.475 {
			tone *= 0.86
		}
		if end := math.Abs((p.X+shift)/1.9 - cell - 0.5); end > 0.4985 {
			tone *= 0.88
		}
		c = r.planks.mul(tone)
		if r.Strip != 0 {
			c = c.mul(1 - 0.25*decay((az-half)/0.025)) // the strip's edge
		}
	}
	l := ceilingLight(p.X, 0, p.Z)
	l *= 1 - 0.28*decay((p.Z-r.WallZ)/0.30)
	for i := range r.mats {
		m := &r.mats[i]
		d := math.Hypot(max(0, max(m.lo.X-p.X, p.X-m.hi.X)), max(0, max(m.lo.Z-p.Z, p.Z-m.hi.Z)))
		l *= 1 - 0.45*decay(d/(0.05+0.15*m.hi.Y))
	}
	c = c.mul(l)
	// lacquer reflects some of the wall, more at grazing angles (Schlick's form)
	cos := -dir.Y
	f := gloss * (0.02 + 0.30*sq(sq(1-cos))*(1-cos))
	up := Vec{dir.X, -dir.Y, dir.Z}
	if up.Z < 0 {
		back := r.wallLight(p.Add(up.Mul((r.WallZ-p.Z)/up.Z)), false)
		c = mix(c, back, f)
	}
	return c
}

func (r *room) matLight(m *box, p, n Vec) rgb {
	l := 0.70 + 0.16*max(0, n.Z) + 0.34*max(0, n.Y) + 0.05*n.X
	if n.Y < 0.5 {
		l *= 1 - 0.30*decay(p.Y/0.12)
		y := p.Y / m.hi.Y * float64(m.layers)
		if f := y - math.Floor(y); m.layers > 1 && (f < 0.035 || f > 0.965) {
			l *= 0.72
		}
		w := m.hi.X - m.lo.X
		if m.layers == 1 && w > 1 { // a folding mat's seams
			if f := math.Mod((p.X-m.lo.X)/w*3, 1); f < 0.012 || f > 0.988 {
				l *= 0.75
			}
		}
	} else {
		l *= 1 - 0.25*decay((p.Z-r.WallZ)/0.2)
	}
	// rounded edges are lighter
	edge := min(min(p.X-m.lo.X, m.hi.X-p.X), m.hi.Y-p.Y)
	if n.Z > 0.5 && edge < 0.02 {
		l *= 1.10
	}
	l *= 1 + 0.03*(noise(p.X*25, (p.Y+p.Z)*25)-0.5)
	return m.colour.mul(l)
}

// colours that are the same in every hall
var skirting, tape, beech = hexToLinear(0xb7a98f), hexToLinear(0xe9e8e0), hexToLinear(0xcdb48c)

// barsOff is the distance of the wall bars from the wall, m.
const barsOff = 0.11

// barAt returns the lightness of the wood at a place on the plane of the wall bars;
// false if there is no wood.
func (r *room) barAt(x, y float64) (float64, bool) {
	const top, first, step, half, post = 2.62, 0.30, 0.165, 0.019, 0.045
	if x < r.barsFrom || x > r.barsTo || y > top || y < 0.02 {
		return 0, false
	}
	side := min(x-r.barsFrom, r.barsTo-x)
	if side < post {
		return 0.92 + 0.12*side/post, true
	}
	k := math.Round((y - first) / step)
	d := (y - first - k*step) / half
	if k < 0 || k > 13 || math.Abs(d) > 1 {
		return 0, false
	}
	return 0.66 + 0.40*math.Sqrt(1-0.8*d*d) + 0.16*d, true
}

func (r *room) barLight(p Vec) (rgb, bool) {
	l, ok := r.barAt(p.X, p.Y)
	if !ok {
		return rgb{}, false
	}
	l *= ceilingLight(p.X, p.Y, p.Z) * (0.97 + 0.06*noise(p.X*9, p.Y*60))
	return beech.mul(l), true
}

func (b *box) hit(from, dir Vec) (float64, Vec, bool) {
	near, far := math.Inf(-1), math.Inf(1)
	var n Vec
	for axis, s := range [3][4]float64{
		{from.X, dir.X, b.lo.X, b.hi.X}, {from.Y, dir.Y, b.lo.Y, b.hi.Y}, {from.Z, dir.Z, b.lo.Z, b.hi.Z},
	} {
		if s[1] == 0 {
			if s[0] < s[2] || s[0] > s[3] {
				return 0, Vec{}, false
			}
			continue
		}
		t0, t1, out := (s[2]-s[0])/s[1], (s[3]-s[0])/s[1], -1.0
		if t0 > t1 {
			t0, t1, out = t1, t0, 1
		}
		if t0 > near {
			near = t0
			n = Vec{}
			switch axis {
			case 0:
				n.X = out
			case 1:
				n.Y = out
			default:
				n.Z = out
			}
		}
		far = min(far, t1)
	}
	return near, n, near <= far && near > 0
}

// lettering is a word painted on the wall.
type lettering struct {
	mask         *image.Alpha
	left, bottom float64 // m
	scale        float64 // px per m
}

// height of a sign's letters and the place of its lower left corner on the wall, m
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

// at is the cover of paint at a place of the wall, 0 to 1.
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
