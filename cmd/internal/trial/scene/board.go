package scene

import "math"

// Board is a printed checkerboard on a flat sheet, for a lens to be worked out
// from. Its squares' inner corners are Columns by Rows; the sheet has one and a
// half squares more on every side. The first square, top left, is dark.
type Board struct {
	Columns, Rows int
	Square        float64                   // m
	Path          func(t float64) BoardPose // where it is; nil holds it upright at the origin
}

// BoardPose is where the middle of a board's corners is, and how it is turned
// there: by R^T with R = Rz(Roll) Rx(Pitch) Ry(Yaw), from facing +Z.
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
	white, dark  rgb // under the light it gets
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

// inked says whether a point of the sheet is dark.
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

// span holds the sheet's outline.
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
	Visible []bool        `json:"visible"` // in the picture and nothing before it
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
