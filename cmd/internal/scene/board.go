package scene

// Board is a printed checkerboard: a flat sheet.
type Board struct {
	Columns, Rows int     // inner corners
	Square        float64 // m
}

func (b *Board) look(from, dir Vec) (t float64, light rgb, ok bool) { return 0, rgb{}, false }
