package scene

import (
	"math"
)

// stickerGap is the distance between a sticker and the surface under it, m.
const stickerGap = 0.0008

// Sticker is a round or square sticker on the near side of the body over a landmark.
type Sticker struct {
	Landmark string  // see [Joints.At]; front-, back- and no prefix are settled at the peak of the scene's measure
	RadiusMM float64 // half the side of a square one; 0 means 25
	Colour   uint32  // 0xRRGGBB, sRGB
	Square   bool    // two of its sides run along the limb
	Gloss    float64 // share of the lamps' light that it mirrors, 0 for a matt one; drawn by [Sketch] only

	// RoundMM is the radius of the limb that the sticker is bent round, 0 for a flat one. The light on
	// a bent sticker follows its curvature; its outline is that of a flat one.
	RoundMM float64
}

// defaultRadius is the default radius of a sticker, m: a 50 mm practice dot.
const defaultRadius = 0.025

func (k Sticker) radius() float64 {
	if k.RadiusMM == 0 {
		return defaultRadius
	}
	return k.RadiusMM / 1000
}

// segment is the direction of the body segment of a landmark. The skin there faces
// perpendicular to it.
func (s *skeleton) segment(side Side, kind int) Vec {
	switch kind {
	case hip:
		return s.up
	case shoulder:
		return s.trunk
	case ribs:
		return s.lower
	case knee:
		return s.legs[side].along[0]
	case ankle:
		return s.legs[side].along[1]
	case toe:
		return s.legs[side].along[2]
	case elbow:
		return s.arms[side].along[0]
	}
	return s.arms[side].along[1]
}

// skin returns the point of the skin over a landmark on the side towards the camera,
// perpendicular to the landmark's segment, and the skin's normal there.
func skin(sk *skeleton, solids []solid, joint Vec, side Side, kind int) (at, normal Vec) {
	normal = across(sk.segment(side, kind), Vec{Z: 1})
	if normal.Z < 0 {
		normal = normal.Mul(-1)
	}
	return joint.Add(normal.Mul(skinHeight(solids, joint, joint, normal, side, kind))), normal
}

// skinHeight is the height of the body's surface along normal over a place near a
// joint, m; 0 if the body is not under it.
func skinHeight(solids []solid, joint, place, normal Vec, side Side, kind int) float64 {
	const outside = 0.5 // m: farther than any part is thick
	from, dir := place.Add(normal.Mul(outside)), normal.Mul(-1)
	best := outside
	for i := range solids {
		if !supports(solids[i].part, side, kind) {
			continue
		}
		// only solids near the joint
		c, s := solids[i].nearestOnAxis(joint)
		if c.Sub(joint).Norm() > 2*solids[i].radius(s)+0.01 {
			continue
		}
		if t, _, ok := solids[i].hit(from, dir); ok {
			best = min(best, t)
		}
	}
	return outside - best
}

// maxStandOff is the largest distance of a stiff sticker's middle from the skin where
// the skin under its rim bulges, m.
const maxStandOff = 0.010

// stickerDisc returns a sticker's disc on the skin over a joint, raised over the skin
// that bulges under its rim by up to maxStandOff.
func stickerDisc(sk *skeleton, solids []solid, joint Vec, side Side, kind int, k Sticker) disc {
	at, n := skin(sk, solids, joint, side, kind)
	middle := at.Sub(joint).Dot(n)
	u := across(n, Vec{X: 1})
	w := n.Cross(u)
	rise := 0.0
	const rim = 8
	for i := range rim {
		s, c := math.Sincos(2 * math.Pi * float64(i) / rim)
		edge := joint.Add(u.Mul(k.radius() * c)).Add(w.Mul(k.radius() * s))
		rise = max(rise, skinHeight(solids, joint, edge, n, side, kind)-middle)
	}
	d := disc{at: at.Add(n.Mul(stickerGap + min(rise, maxStandOff))), normal: n, r: k.radius(), colour: hexToLinear(k.Colour)}
	d.square, d.acrossLimb = k.Square, sk.segment(side, kind).Cross(n).Unit()
	if k.RoundMM > 0 {
		d.bendAngle = k.radius() / (k.RoundMM / 1000)
	}
	return d
}

// supports reports whether a part of the body can be under a landmark's sticker.
func supports(p part, side Side, kind int) bool {
	switch kind {
	case hip:
		return p == partTrunk || p == partLeg+part(side)
	case knee:
		return p == partLeg+part(side)
	case ankle, toe:
		return p == partLeg+part(side) || p == partFoot+part(side)
	case shoulder:
		return p == partTrunk || p == partArm+part(side)
	case elbow:
		return p == partArm+part(side)
	case ribs:
		return p == partTrunk
	}
	return p == partArm+part(side) || p == partHand+part(side)
}

// disc is a sticker: one-sided, a little over the skin.
type disc struct {
	at, normal Vec
	r          float64 // half the side of a square one
	square     bool
	colour     rgb
	lit        rgb // colour under the light it gets in its middle

	acrossLimb Vec     // direction across the limb, in which the sticker is bent
	bendAngle  float64 // from its middle to its rim, rad; 0 for a flat one
	litSlope   rgb     // change of its light from the middle to the rim along acrossLimb
}

// litColour is the disc's colour under the light at a point of it.
func (d *disc) litColour(p Vec) rgb {
	if d.bendAngle == 0 {
		return d.lit
	}
	return d.lit.add(d.litSlope.mul(p.Sub(d.at).Dot(d.acrossLimb) / d.r))
}

func (d *disc) hit(from, dir Vec) (float64, bool) {
	dn := dir.Dot(d.normal)
	if dn >= -1e-9 {
		return 0, false
	}
	t := d.at.Sub(from).Dot(d.normal) / dn
	q := from.Add(dir.Mul(t)).Sub(d.at)
	if d.square {
		a, b := q.Dot(d.acrossLimb), q.Dot(d.acrossLimb.Cross(d.normal))
		return t, t > 0 && max(math.Abs(a), math.Abs(b)) <= d.r
	}
	return t, t > 0 && q.Dot(q) <= d.r*d.r
}

// Board is a printed checkerboard on a flat sheet, for the calibration of a lens. It
// has Columns by Rows inner corners; the sheet reaches 1.75 squares beyond them on
// every side. The first square, top left, is dark.
type Board struct {
	Columns, Rows int
	Square        float64                   // m
	Path          func(t float64) BoardPose // where it is; nil holds it upright at the origin
}

// BoardPose is the position of the middle of a board's corners and its rotation: R^T
// with R = Rz(Roll) Rx(Pitch) Ry(Yaw), from facing +Z.
type BoardPose struct {
	At               Vec
	Yaw, Pitch, Roll float64
}

// sheet is a board at one moment.
type sheet struct {
	at           Vec
	x, y, n      Vec // to the right, up, and out of the print
	cols, rows   int
	square       float64
	halfX, halfY float64
	white, dark  rgb // colours under the hall's light
}

const (
	paperWhite = 0xf3f2ee
	inkDark    = 0x1a1a1c
)

func (b *Board) sheet(t float64) sheet {
	var p BoardPose
	if b.Path != nil {
		p = b.Path(t)
	}
	r := rotation(p.Yaw, p.Pitch, p.Roll)
	s := sheet{at: p.At, x: r.mulT(Vec{X: 1}), y: r.mulT(Vec{Y: 1}), n: r.mulT(Vec{Z: 1}), cols: b.Columns, rows: b.Rows, square: b.Square}
	const margin = 1.5 // squares beyond the outer corners: the outer squares and a rim
	s.halfX = (float64(b.Columns-1)/2 + 1 + margin/2) * b.Square
	s.halfY = (float64(b.Rows-1)/2 + 1 + margin/2) * b.Square
	return s
}

// corner is the inner corner of a column and a row, from the top left.
func (s *sheet) corner(col, row int) Vec {
	x := (float64(col) - float64(s.cols-1)/2) * s.square
	y := (float64(s.rows-1)/2 - float64(row)) * s.square
	return s.at.Add(s.x.Mul(x)).Add(s.y.Mul(y))
}

func (s *sheet) hit(from, dir Vec) (t float64, ok bool) {
	dn := dir.Dot(s.n)
	if dn >= -1e-9 {
		return 0, false
	}
	t = s.at.Sub(from).Dot(s.n) / dn
	q := from.Add(dir.Mul(t)).Sub(s.at)
	return t, t > 0 && math.Abs(q.Dot(s.x)) <= s.halfX && math.Abs(q.Dot(s.y)) <= s.halfY
}

// inked reports whether a point of the sheet is in a dark square.
func (s *sheet) inked(p Vec) bool {
	q := p.Sub(s.at)
	col := int(math.Floor(q.Dot(s.x)/s.square + float64(s.cols+1)/2))
	row := int(math.Floor(float64(s.rows+1)/2 - q.Dot(s.y)/s.square))
	return col >= 0 && row >= 0 && col <= s.cols && row <= s.rows && (col+row)%2 == 0
}

func (s *sheet) colour(p Vec) rgb {
	if s.inked(p) {
		return s.dark
	}
	return s.white
}

// sheetSpan is a span that contains the sheet's outline.
func (g *rig) sheetSpan(s *sheet) span {
	r := math.Hypot(s.halfX, s.halfY)
	return g.spanOf(s.at, s.at, r, r)
}

// TruthBoard is a board in one frame: its pose and its inner corners, row by row
// from the top left, each at mid-exposure of its own row.
type TruthBoard struct {
	Columns int           `json:"columns"`
	Rows    int           `json:"rows"`
	SquareM float64       `json:"square_m"`
	At      [3]float64    `json:"at_m"` // at the frame's time
	Turn    [3][3]float64 `json:"axes"` // the sheet's right, up and outward directions
	Corners [][2]float64  `json:"corners"`
	Visible []bool        `json:"visible"` // in the picture and not hidden
}

func (s *Scene) truthBoard(i int, b *Board) TruthBoard {
	t := s.Time(i)
	now := b.sheet(t)
	out := TruthBoard{
		Columns: b.Columns, Rows: b.Rows, SquareM: b.Square, At: triple(now.at),
		Turn: [3][3]float64{triple(now.x), triple(now.y), triple(now.n)},
	}
	g := s.pose(t)
	for row := range b.Rows {
		for col := range b.Columns {
			sh, v := now, g.view
			p := sh.corner(col, row)
			x, y, ok := v.project(p)
			if s.Readout > 0 && ok {
				for range 6 {
					before := y
					rt := s.rowTime(i, y)
					sh, v = b.sheet(rt), s.cameraAt(rt).view()
					p = sh.corner(col, row)
					x, y, _ = v.project(p)
					if math.Abs(y-before) < 1e-6 {
						break
					}
				}
			}
			ray := p.Sub(v.from)
			seen := ok && s.inside(x, y) && ray.Dot(sh.n) < 0
			if seen {
				far := ray.Norm()
				for k := range g.solids {
					if at, _, hit := g.solids[k].hit(v.from, ray.Mul(1/far)); hit && at < far {
						seen = false
					}
				}
			}
			out.Corners = append(out.Corners, [2]float64{x, y})
			out.Visible = append(out.Visible, seen)
		}
	}
	return out
}
