package sticker

// #cgo CFLAGS: -O3 -std=c11 -Wall -Wno-psabi
// #cgo LDFLAGS: -lm
// #include "rim.h"
import "C"

import (
	"unsafe"

	"ecart/geometry"
)

// The columns of pixels, as rim.h describes them.
const (
	columnX      = C.RIM_X
	columnY      = C.RIM_Y
	columnShare  = C.RIM_SHARE
	columnSlope  = C.RIM_SLOPE
	columnPlace  = C.RIM_PLACE
	columnErr    = C.RIM_ERR
	columnKeep   = C.RIM_KEEP
	columnWeight = C.RIM_WEIGHT
)

// What a pixel is to an outline.
const (
	farOff  = C.RIM_OFF
	onRim   = C.RIM_RIM
	wholly  = C.RIM_IN
	outside = C.RIM_OUT
)

// pixels are the pixels of a fit, in columns, with places counted from a pixel near the sticker. Those on
// the rim come first: they may hold a share between all and nothing.
type pixels struct {
	n, rim   int
	stride   int
	columns  []float32
	col, row []int32 // in the box
	kinds    []uint8 // of the box
	at       []int32 // place in the box
	left     []float32
	pulls    []float32
	spare    []float32
}

// column is one column of the pixels.
func (p *pixels) column(k int) []float32 { return p.columns[k*p.stride:][:p.n] }

// room makes room for as many pixels, and has none.
func (p *pixels) room(most int) {
	p.n, p.rim, p.stride = 0, 0, most
	if len(p.columns) < most*C.RIM_COLUMNS {
		p.columns = make([]float32, most*C.RIM_COLUMNS)
		p.col, p.row, p.at = make([]int32, most), make([]int32, most), make([]int32, most)
	}
}

// only leaves those pixels that are to be kept.
func (p *pixels) only(keep []bool) {
	n, rim := 0, 0
	for i, k := range keep[:p.n] {
		if !k {
			continue
		}
		if i < p.rim {
			rim++
		}
		for c := range C.RIM_COLUMNS {
			p.columns[c*p.stride+n] = p.columns[c*p.stride+i]
		}
		p.col[n], p.row[n] = p.col[i], p.row[i]
		n++
	}
	p.n, p.rim = n, rim
}

// shaped is an outline as rim.c takes it, its place counted from origin.
func (s *shaper) shaped(origin geometry.Point) C.rim_outline {
	o := C.rim_outline{
		x: C.float(s.at.X - origin.X), y: C.float(s.at.Y - origin.Y),
		b0: C.float(s.b[0]), b1: C.float(s.b[1]), b2: C.float(s.b[2]), blur: C.float(s.blur),
		way_x: C.float(s.way.X), way_y: C.float(s.way.Y), length: C.float(s.long),
		scale: C.float(s.scale), wide: C.float(s.wide), half: C.float(s.half), reach: C.float(s.reach),
		nodes: C.int(len(s.nodes)),
	}
	for i, n := range s.nodes {
		o.off[i], o.weight[i] = C.float(n.off), C.float(n.weight)
	}
	return o
}

func base(s []float32) *C.float { return (*C.float)(unsafe.Pointer(unsafe.SliceData(s))) }

// plainLoops has the loops for any machine used, where there are others.
func plainLoops(on bool) {
	C.loops_plain = 0
	if on {
		C.loops_plain = 1
	}
}

// sort sorts the pixels of a box of w by h, whose first one is at (x0, y0) from the origin.
func (p *pixels) sort(o *C.rim_outline, radius, pad, band float64, x0, y0, w, h int) {
	p.kinds = fit(p.kinds, w*h)
	C.rim_kind(o, C.float(radius), C.float(pad), C.float(band), C.int(x0), C.int(y0), C.int(w), C.int(h), (*C.uint8_t)(unsafe.SliceData(p.kinds)))
}

// share fills the share and its slopes of those on the rim.
func (p *pixels) share(o *C.rim_outline) {
	C.rim_share(o, C.int(p.rim), C.int(p.stride), base(p.columns))
}

// rimLight is the two sides' light as rim.c takes it.
type rimLight = C.rim_light

func lit(light *[6]float64, n *noise, origin geometry.Point, per float64) C.rim_light {
	l := C.rim_light{
		x: C.float(origin.X), y: C.float(origin.Y), per: C.float(per),
		inside: C.float(n.inside * n.inside), around: C.float(n.around * n.around), rim: C.float(4 * n.rim * n.rim),
	}
	for i, v := range light {
		l.light[i] = C.float(v)
	}
	return l
}

// sum fills what is left over, and the normal equations.
func (p *pixels) sum(l *C.rim_light, h *[allCount][allCount]float64, g *[allCount]float64) {
	C.rim_sum(l, C.int(p.rim), C.int(p.n), C.int(p.stride), base(p.columns), (*C.double)(&h[0][0]), (*C.double)(&g[0]))
}

// hang returns how what is left over hangs together from column to column, and from row to row of the
// box of w by h: the correlation of neighbours.
func (p *pixels) hang(l *C.rim_light, w, h int) (alongX, alongY float64) {
	p.left = fit(p.left, int(C.rim_box(C.int(w), C.int(h))))
	var sums [3]C.double
	C.rim_hang(l, C.int(p.n), C.int(p.stride), base(p.columns), (*C.int32_t)(unsafe.SliceData(p.col)), (*C.int32_t)(unsafe.SliceData(p.row)),
		C.int(w), C.int(h), base(p.left), &sums[0])
	all := max(float64(sums[0]), 1e-12)
	return float64(sums[1]) / all, float64(sums[2]) / all
}

// pull returns the variance of the quantities whose rows of the inverse are given, and the covariance
// of the first two: the errors of the pixels of a box of w by h hang together along its rows and
// columns.
func (p *pixels) pull(l *C.rim_light, rows *[pulled][allCount]float64, n *noise, w, h int) (of [pulled]float64, cross float64) {
	p.pulls = resize(p.pulls, w*h*C.RIM_PULLS)
	p.spare = fit(p.spare, w*h*C.RIM_PULLS)
	var by [C.RIM_PULLS][C.RIM_ALL]C.float
	for k := range rows {
		for a, v := range rows[k] {
			by[k][a] = C.float(v)
		}
	}
	for i := range p.n {
		p.at[i] = p.row[i]*int32(w) + p.col[i]
	}
	C.rim_pull(l, C.int(p.rim), C.int(p.n), C.int(p.stride), base(p.columns), &by[0], (*C.int32_t)(unsafe.SliceData(p.at)), base(p.pulls))
	var all [C.RIM_PULLS]C.double
	var c C.double
	C.rim_correlate(C.int(w), C.int(h), C.float(n.alongX), C.float(n.alongY), base(p.pulls), base(p.spare), &all[0], &c)
	for k := range of {
		of[k] = float64(all[k])
	}
	return of, float64(c)
}
