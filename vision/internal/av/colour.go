package av

import "math"

// Siting says where chroma samples lie among luma samples, numbered as FFmpeg numbers it:
// 0 unknown (taken as 1), 1 left, 2 centre, 3 top left, 4 top, 5 bottom left, 6 bottom.
type Siting int

// Centre is the siting of JPEG (JFIF) and of WebP.
const Centre Siting = 2

// offset returns the position of chroma sample 0 in half luma pixels.
func (s Siting) offset(shiftX, shiftY int) (x, y int) {
	x, y = 0, 1<<shiftY-1
	if s == 2 || s == 4 || s == 6 {
		x = 1<<shiftX - 1
	}
	switch s {
	case 3, 4:
		y = 0
	case 5, 6:
		y *= 2
	}
	return x, y
}

// Matrix coefficients by their number in ISO/IEC 23091-2 table 4.
const (
	SpaceBT709       = 1
	SpaceUnspecified = 2
	SpaceFCC         = 4
	SpaceBT470BG     = 5
	SpaceBT601       = 6
	SpaceSMPTE240M   = 7
	SpaceBT2020      = 9
	SpaceBT2020CL    = 10
)

// luma returns the weights of red and blue in luma, which define the matrix. A stream without a stated
// matrix counts as BT.709 if it is larger than standard definition (more than 1024 by 576 pixels), else
// as BT.601, as in players (common practice).
func (p *Picture) luma() (kr, kb float64) {
	switch p.Space {
	case SpaceBT709:
		return 0.2126, 0.0722
	case SpaceFCC:
		return 0.30, 0.11
	case SpaceBT470BG, SpaceBT601:
		return 0.299, 0.114
	case SpaceSMPTE240M:
		return 0.212, 0.087
	case SpaceBT2020, SpaceBT2020CL:
		return 0.2627, 0.0593
	}
	if long, short := max(p.StoredWidth, p.StoredHeight), min(p.StoredWidth, p.StoredHeight); long > 1024 || short > 576 {
		return 0.2126, 0.0722
	}
	return 0.299, 0.114
}

// weights are the factors of ec_format, in units of 2^-20 of an output level.
type weights struct{ y, rv, gu, gv, bu, r0, g0, b0 int }

// weights computes the factors for the following, with Y' and the colour differences as in ISO/IEC 23091-2 8.3,
//
//	R = Y' + 2 (1-kr) Cr
//	B = Y' + 2 (1-kb) Cb
//	G = Y' - (2 (1-kr) kr Cr + 2 (1-kb) kb Cb) / (1-kr-kb)
//
// and 255 levels from black to white. PQ and HLG pictures are converted the same way: their
// tones are not mapped.
func (p *Picture) weights() weights {
	kr, kb := p.luma()
	kg := 1 - kr - kb
	depth := min(p.Depth, 12)
	unit := math.Ldexp(1, depth-8) // one level of eight bits
	black, lumaRange, chromaRange := 16*unit, 219*unit, 224*unit
	if p.Full {
		black, lumaRange = 0, math.Ldexp(1, depth)-1
		chromaRange = lumaRange
	}
	larger := math.Ldexp(1, p.ShiftX+p.ShiftY+2) // scale of interpolated chroma, see ec_format
	one := math.Ldexp(255, 20)
	round := func(v float64) int { return int(math.Round(v)) }

	var w weights
	w.y = round(one / lumaRange)
	chroma := one / chromaRange / larger
	w.rv = round(2 * (1 - kr) * chroma)
	w.bu = round(2 * (1 - kb) * chroma)
	w.gv = round(-2 * (1 - kr) * kr / kg * chroma)
	w.gu = round(-2 * (1 - kb) * kb / kg * chroma)
	// Offsets, with half a level so that truncation rounds to nearest.
	base := float64(w.y)*-black + math.Ldexp(0.5, 20)
	neutral := 128 * unit * larger
	w.r0 = round(base - float64(w.rv)*neutral)
	w.g0 = round(base - float64(w.gu+w.gv)*neutral)
	w.b0 = round(base - float64(w.bu)*neutral)
	if p.Layout == Grey {
		w.r0 = round(base)
	}
	return w
}
