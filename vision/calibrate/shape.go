package calibrate

// Imperfections of a printed board. They are estimated together with the lens, since a
// board that is bent by a millimetre moves the focal length by more than the noise of its
// corners.
const (
	bowAcross = iota // bent to a cylinder along its rows
	bowDown          // bent along its columns
	twist            // one diagonal up, the other down
	stretch          // different scale in the two directions, from the paper feed of a printer
	skew             // columns not perpendicular to rows
	shapes
)

// Priors of the imperfections: standard deviations about 0; common practice without a
// source. A bow or a twist is the distance of the end of the board's longer side from the
// plane, as a share of half that side: 0.01 is a millimetre for a board of 20 cm, such as
// paper on cardboard.
const (
	priorBow     = 0.01
	priorStretch = 0.003
	priorSkew    = 0.001
)

// corner is a place on the board, in squares from its middle: x along a row, y down a
// column, z away from the viewer. at is its place on a perfect board, and by its
// displacement for a unit of each imperfection.
type corner struct {
	at vec
	by [shapes]vec
}

// place returns the place of the corner on an imperfect board.
func (c *corner) place(imperfect []float64) vec {
	p := c.at
	for k, s := range imperfect {
		p = p.plus(c.by[k], s)
	}
	return p
}

// sheet returns the board's corners, row by row from the top left one.
func (b Board) sheet() []corner {
	mx, my := float64(b.Columns-1)/2, float64(b.Rows-1)/2
	half := max(mx, my)
	out := make([]corner, 0, b.Columns*b.Rows)
	for _, p := range b.corners() {
		x, y := p.X-mx, p.Y-my
		u, v := x/half, y/half
		c := corner{at: vec{x, y, 0}}
		c.by[bowAcross] = vec{2: half * u * u}
		c.by[bowDown] = vec{2: half * v * v}
		c.by[twist] = vec{2: half * u * v}
		c.by[stretch] = vec{x / 2, -y / 2, 0}
		c.by[skew] = vec{y / 2, x / 2, 0}
		out = append(out, c)
	}
	return out
}
