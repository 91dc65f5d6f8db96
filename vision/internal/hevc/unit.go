package hevc

// codingUnit holds the properties of a coding unit that its further syntax depends on.
type codingUnit struct {
	bypass    bool // coded without transform
	intra     bool
	parts     int      // kind of partition
	luma      [4]uint8 // intra prediction modes of luma
	chroma    uint8
	mergeOnly bool // one part, merged
}

// Kinds of partitions (table 7-10).
const (
	part2Nx2N = iota
	part2NxN
	partNx2N
	partNxN
	part2NxnU
	part2NxnD
	partnLx2N
	partnRx2N
)

// Intra prediction modes (8.4.2).
const (
	planar     = 0
	dc         = 1
	horizontal = 10
	vertical   = 26
	diagonal   = 34
)

// quadtree decodes coding_quadtree (7.3.8.4).
func (d *decoder) quadtree(x, y, log2, depth int) {
	side := 1 << log2
	split := log2 > d.s.minCB
	if split && x+side <= d.s.width && y+side <= d.s.height {
		c := splitCU
		if d.leftOf(x) && int(d.inRow[y>>2].depth) > depth {
			c++
		}
		if d.above(y) && int(d.inColumn[x>>2].depth) > depth {
			c++
		}
		split = d.bin(c) == 1
	}
	if log2 >= d.s.ctb-d.p.qpDeltaDepth {
		d.qpCoded = false
	}
	if !split {
		d.codingUnit(x, y, log2, depth)
		return
	}
	half := side / 2
	for i := range 4 {
		cx, cy := x+i&1*half, y+i>>1*half
		if cx < d.s.width && cy < d.s.height && !d.bad {
			d.quadtree(cx, cy, log2-1, depth+1)
		}
	}
}

// leftOf and above report whether the sample to the left of x, or above y, is available.
func (d *decoder) leftOf(x int) bool { return x > d.x0 || d.left }
func (d *decoder) above(y int) bool  { return y > d.y0 || d.up }

// codingUnit decodes coding_unit (7.3.8.5).
func (d *decoder) codingUnit(x, y, log2, depth int) {
	d.cu = codingUnit{intra: true}
	d.cu.bypass = d.p.bypass && d.bin(bypassCU) == 1
	skipped := false
	if d.h.kind != sliceI {
		c := skipCU
		if d.leftOf(x) && d.inRow[y>>2].skip {
			c++
		}
		if d.above(y) && d.inColumn[x>>2].skip {
			c++
		}
		skipped = d.bin(c) == 1
	}
	u := unit{uint8(depth), skipped, dc}
	if skipped {
		d.store(x, y, 1<<log2, u)
		d.mergeIndex()
		return
	}
	if d.h.kind != sliceI {
		d.cu.intra = d.bin(predMode) == 1
	}
	if !d.cu.intra || log2 == d.s.minCB {
		d.cu.parts = d.partMode(log2)
	}
	if d.cu.intra {
		d.intraModes(x, y, log2, u)
	} else {
		d.store(x, y, 1<<log2, u)
		d.predictionUnits(log2, depth)
	}
	if !d.cu.intra && !d.cu.mergeOnly && d.bin(rootCBF) == 0 {
		return
	}
	t := tree{log2: log2, maxDepth: d.s.depthInter, cb: true, cr: true}
	if d.cu.intra {
		t.maxDepth = d.s.depthIntra
		if d.cu.parts == partNxN {
			t.maxDepth++
		}
	}
	d.transformTree(t)
}

// store records a unit of side samples for those decoded later.
func (c *picture) store(x, y, side int, u unit) {
	for i := 0; i < side; i += 4 {
		c.inRow[(y+i)>>2], c.inColumn[(x+i)>>2] = u, u
	}
}

// partMode decodes part_mode (9.3.3.7).
func (d *decoder) partMode(log2 int) int {
	if d.bin(partMode) == 1 {
		return part2Nx2N
	}
	if d.cu.intra {
		return partNxN
	}
	flat := d.bin(partMode+1) == 1
	if log2 == d.s.minCB {
		switch {
		case flat:
			return part2NxN
		case log2 == 3 || d.bin(partMode+2) == 1:
			return partNx2N
		}
		return partNxN
	}
	even, first := part2NxN, part2NxnU
	if !flat {
		even, first = partNx2N, partnLx2N
	}
	if !d.s.amp || d.bin(partMode+3) == 1 {
		return even
	}
	return first + d.bypass()
}

// intraModes decodes the intra prediction modes of unit u (7.3.8.5, 8.4.2, 8.4.3), and stores it.
func (d *decoder) intraModes(x, y, log2 int, u unit) {
	n, side := 1, 1<<log2
	if d.cu.parts == partNxN {
		n, side = 4, side/2
	}
	var likely [4]bool
	for i := range n {
		likely[i] = d.bin(prevIntra) == 1
	}
	for i := range n {
		px, py := x+i&1*side, y+i>>1*side
		a, b := uint8(dc), uint8(dc)
		if d.leftOf(px) {
			a = d.inRow[py>>2].intra
		}
		if py > d.y0 {
			b = d.inColumn[px>>2].intra
		}
		list := likelyModes(a, b)
		var mode uint8
		if likely[i] {
			mode = list[d.unary(2)]
		} else {
			mode = uint8(d.fixed(5))
			for _, m := range sorted(list) {
				if mode >= m {
					mode++
				}
			}
		}
		d.cu.luma[i], u.intra = mode, mode
		d.store(px, py, side, u)
	}
	for i := n; i < 4; i++ {
		d.cu.luma[i] = d.cu.luma[0]
	}
	if !d.s.chroma {
		return
	}
	d.cu.chroma = d.cu.luma[0]
	if d.bin(chromaMode) == 1 {
		d.cu.chroma = [4]uint8{planar, vertical, horizontal, dc}[d.fixed(2)]
		if d.cu.chroma == d.cu.luma[0] {
			d.cu.chroma = diagonal
		}
	}
}

// likelyModes returns the three most probable modes, given those to the left and above (8.4.2).
func likelyModes(a, b uint8) [3]uint8 {
	if a == b {
		if a < 2 {
			return [3]uint8{planar, dc, vertical}
		}
		return [3]uint8{a, 2 + (a+29)%32, 2 + (a-2+1)%32}
	}
	switch {
	case a != planar && b != planar:
		return [3]uint8{a, b, planar}
	case a != dc && b != dc:
		return [3]uint8{a, b, dc}
	}
	return [3]uint8{a, b, vertical}
}

func sorted(m [3]uint8) [3]uint8 {
	if m[0] > m[1] {
		m[0], m[1] = m[1], m[0]
	}
	if m[0] > m[2] {
		m[0], m[2] = m[2], m[0]
	}
	if m[1] > m[2] {
		m[1], m[2] = m[2], m[1]
	}
	return m
}

// predictionUnits decodes the prediction units of a coding unit (7.3.8.6).
func (d *decoder) predictionUnits(log2, depth int) {
	n := 2
	switch d.cu.parts {
	case part2Nx2N:
		n = 1
	case partNxN:
		n = 4
	}
	// Blocks of 8 by 4 and 4 by 8 samples are not predicted from two pictures.
	small := log2 == 3 && n == 2
	for range n {
		if d.bin(mergeFlag) == 1 {
			d.mergeIndex()
			d.cu.mergeOnly = n == 1
			continue
		}
		var lists [2]bool
		switch {
		case d.h.kind == sliceP:
			lists[0] = true
		case !small && d.bin(interPred+depth) == 1:
			lists = [2]bool{true, true}
		default:
			lists[d.bin(interPred+4)] = true
		}
		for l, on := range lists {
			if !on {
				continue
			}
			d.refIndex(d.h.refs[l])
			if l == 0 || !d.h.mvdL1Zero || !lists[0] {
				d.motionDifference()
			}
			d.bin(mvpFlag)
		}
	}
}

func (d *decoder) mergeIndex() {
	if most := d.h.mergeCandidates - 1; most > 0 && d.bin(mergeIndex) == 1 {
		d.unary(most - 1)
	}
}

func (d *decoder) refIndex(n int) {
	for i := range n - 1 {
		if i < 2 && d.bin(refIndex+i) == 0 || i >= 2 && d.bypass() == 0 {
			return
		}
	}
}

// motionDifference decodes mvd_coding (7.3.8.9).
func (d *decoder) motionDifference() {
	var greater0, greater1 [2]bool
	for i := range 2 {
		greater0[i] = d.bin(mvdGreater0) == 1
	}
	for i := range 2 {
		greater1[i] = greater0[i] && d.bin(mvdGreater1) == 1
	}
	for i := range 2 {
		if greater1[i] {
			d.golomb(1)
		}
		if greater0[i] {
			d.bypass()
		}
	}
}
