package hevc

// tree is a node of the transform tree.
type tree struct {
	log2     int // of the side
	depth    int
	maxDepth int  // largest depth
	index    int  // among the four of its parent
	part     int  // quarter of the coding unit, where that has four intra prediction modes
	cb, cr   bool // the parent has coefficients of chroma
}

// transformTree decodes transform_tree (7.3.8.8).
func (d *decoder) transformTree(t tree) {
	quarters := d.cu.intra && d.cu.parts == partNxN && t.depth == 0
	var split bool
	if t.log2 <= d.s.maxTB && t.log2 > d.s.minTB && t.depth < t.maxDepth && !quarters {
		split = d.bin(splitTB+5-t.log2) == 1
	} else {
		parted := d.s.depthInter == 0 && !d.cu.intra && d.cu.parts != part2Nx2N && t.depth == 0
		split = t.log2 > d.s.maxTB || quarters || parted
	}
	cb, cr := false, false
	if d.s.chroma {
		if t.log2 > 2 {
			cb = t.cb && d.bin(cbfChroma+t.depth) == 1
			cr = t.cr && d.bin(cbfChroma+t.depth) == 1
		} else {
			cb, cr = t.cb && t.depth > 0, t.cr && t.depth > 0
		}
	}
	if !split {
		luma := !d.cu.intra && t.depth == 0 && !cb && !cr
		if !luma {
			c := cbfLuma
			if t.depth == 0 {
				c++
			}
			luma = d.bin(c) == 1
		}
		d.transformUnit(t, luma, cb, cr)
		return
	}
	for i := range 4 {
		if d.bad {
			return
		}
		child := tree{log2: t.log2 - 1, depth: t.depth + 1, maxDepth: t.maxDepth, index: i, part: t.part, cb: cb, cr: cr}
		if quarters {
			child.part = i
		}
		d.transformTree(child)
	}
}

// transformUnit decodes transform_unit (7.3.8.10).
func (d *decoder) transformUnit(t tree, luma, cb, cr bool) {
	if !luma && !cb && !cr {
		return
	}
	if d.p.qpDelta && !d.qpCoded {
		d.qpCoded = true
		if n := d.qpPrefix(); n > 0 {
			if n == 5 {
				d.golomb(0)
			}
			d.bypass()
		}
	}
	if luma {
		d.residual(t.log2, 0, d.cu.luma[t.part])
	}
	log2 := t.log2 - 1
	if t.log2 == 2 {
		if t.index != 3 {
			return // the four share one block of chroma
		}
		log2 = 2
	}
	if cb {
		d.residual(log2, 1, d.cu.chroma)
	}
	if cr {
		d.residual(log2, 2, d.cu.chroma)
	}
}

// qpPrefix decodes the prefix of cu_qp_delta_abs (9.3.3.10).
func (d *decoder) qpPrefix() int {
	if d.bin(qpDelta) == 0 {
		return 0
	}
	n := 1
	for n < 5 && d.bin(qpDelta+1) == 1 {
		n++
	}
	return n
}

// position is a place in a block; scans are orders of positions (6.5.3 to 6.5.5): up-right diagonal, horizontal, vertical.
type position struct{ x, y uint8 }

var scans [3][4][]position // by kind and log2 of the side, 0 to 3

func init() {
	for log2 := range 4 {
		n := 1 << log2
		for diagonal := range 2*n - 1 {
			for x := range n {
				if y := diagonal - x; y >= 0 && y < n {
					scans[0][log2] = append(scans[0][log2], position{uint8(x), uint8(y)})
				}
			}
		}
		for i := range n * n {
			scans[1][log2] = append(scans[1][log2], position{uint8(i % n), uint8(i / n)})
			scans[2][log2] = append(scans[2][log2], position{uint8(i / n), uint8(i % n)})
		}
	}
}

// smallContext is the context of significant coefficients in a block of 4 by 4 (table 9-50), in raster order.
var smallContext = [16]uint8{0, 1, 4, 5, 2, 3, 4, 5, 6, 6, 8, 8, 7, 7, 8, 8}

// patternContext is the same for larger blocks. Its indices are the pattern (1 if the sub-block to the right has
// coefficients, plus 2 if the one below has), x and y (9-55).
var patternContext [4][4][4]uint8

func init() {
	for x := range 4 {
		for y := range 4 {
			in := []int{x + y, y, x}
			for pattern, ends := range [][2]int{{0, 2}, {0, 1}, {0, 1}} {
				v := uint8(0)
				if in[pattern] <= ends[0] {
					v = 2
				} else if in[pattern] <= ends[1] {
					v = 1
				}
				patternContext[pattern][x][y] = v
			}
			patternContext[3][x][y] = 2
		}
	}
}

// residual decodes residual_coding (7.3.8.11) of component c (0 luma).
func (d *decoder) residual(log2, c int, mode uint8) {
	if d.p.transformSkip && !d.cu.bypass && log2 == 2 {
		d.bin(transformSkip + min(c, 1))
	}
	kind := 0
	if d.cu.intra && (log2 == 2 || log2 == 3 && c == 0) {
		switch {
		case mode >= 6 && mode <= 14:
			kind = 2
		case mode >= 22 && mode <= 30:
			kind = 1
		}
	}
	px, py := d.lastPrefix(lastX, log2, c), d.lastPrefix(lastY, log2, c)
	x, y := d.lastSuffix(px), d.lastSuffix(py)
	if kind == 2 {
		x, y = y, x
	}
	blocks, inner := scans[kind][log2-2], scans[kind][2]
	i, n := find(blocks, x>>2, y>>2), find(inner, x&3, y&3)
	var coded [8][8]bool
	state := coefficients{greater1: 1}
	for last := i; i >= 0 && !d.bad; i-- {
		b := blocks[i]
		right, below := b.x < 7 && coded[b.y][b.x+1], b.y < 7 && coded[b.y+1][b.x]
		pattern := 0
		if right {
			pattern = 1
		}
		if below {
			pattern += 2
		}
		has, infer := true, false
		if i < last && i > 0 {
			at := subBlock + min(pattern, 1)
			if c > 0 {
				at += 2
			}
			has, infer = d.bin(at) == 1, true
		}
		coded[b.y][b.x] = has
		if !has {
			continue
		}
		from := 15
		state.n = 0
		if i == last {
			from = n - 1
			state.at[0], state.n = n, 1
		}
		base := significant
		if c > 0 {
			base += 27
		}
		for k := from; k >= 0; k-- {
			if k == 0 && infer && state.n == 0 {
				state.at[0], state.n = 0, 1
				break
			}
			if d.bin(base+significantAt(log2, c, kind, i, inner[k], pattern)) == 1 {
				state.at[state.n] = k
				state.n++
			}
		}
		if state.n > 0 {
			d.levels(&state, i, i == last, c)
		}
	}
}

// significantAt is the context of significance of the coefficient at p in sub-block i (9.3.4.2.5), within those of luma or
// chroma.
func significantAt(log2, c, kind, i int, p position, pattern int) int {
	switch {
	case log2 == 2:
		return int(smallContext[p.y<<2+p.x])
	case i == 0 && p == position{}:
		return 0
	}
	at := int(patternContext[pattern][p.x][p.y])
	if c == 0 && i > 0 {
		at += 3
	}
	switch {
	case c > 0 && log2 == 3:
		return at + 9
	case c > 0:
		return at + 12
	case log2 > 3:
		return at + 21
	case kind == 0:
		return at + 9
	}
	return at + 15
}

func find(list []position, x, y int) int {
	for i, p := range list {
		if int(p.x) == x && int(p.y) == y {
			return i
		}
	}
	return 0
}

// lastPrefix decodes the prefix of a coordinate of the last coefficient (9.3.4.2.3).
func (d *decoder) lastPrefix(base, log2, c int) int {
	offset, shift := 3*(log2-2)+(log2-1)>>2, (log2+1)>>2
	if c > 0 {
		offset, shift = 15, log2-2
	}
	n := 0
	for n < 2*log2-1 && d.bin(base+offset+n>>shift) == 1 {
		n++
	}
	return n
}

// lastSuffix decodes the suffix, if there is one, and returns the coordinate (7-74).
func (d *decoder) lastSuffix(prefix int) int {
	if prefix < 4 {
		return prefix
	}
	n := prefix>>1 - 1
	return (2+prefix&1)<<n + d.fixed(n)
}

// coefficients lists the non-zero coefficients of a sub-block.
type coefficients struct {
	at       [16]int // positions in the scan, from the last one on
	n        int
	greater1 int // greater1Ctx at the end of the preceding sub-block, 1 if there is none
}

// levels decodes the sizes and signs of the coefficients of sub-block i.
func (d *decoder) levels(s *coefficients, i int, first bool, c int) {
	set := 0
	if i > 0 && c == 0 {
		set = 2
	}
	if !first && s.greater1 == 0 {
		set++
	}
	s.greater1 = 1
	base1, base2 := greater1+4*set, greater2+set
	if c > 0 {
		base1, base2 = base1+16, base2+4
	}
	var level [16]int
	big := -1
	for k := range min(s.n, 8) {
		level[k] = 1
		if d.bin(base1+s.greater1) == 1 {
			level[k], s.greater1 = 2, 0
			if big < 0 {
				big = k
			}
		} else if s.greater1 > 0 && s.greater1 < 3 {
			s.greater1++
		}
	}
	if big >= 0 {
		level[big] += d.bin(base2)
	}
	signs := s.n
	if d.p.signHiding && !d.cu.bypass && s.at[0]-s.at[s.n-1] > 3 {
		signs--
	}
	d.fixed(signs)
	rice := 0
	for k := range s.n {
		limit := 2
		switch {
		case k == big:
			limit = 3
		case k >= 8:
			level[k], limit = 1, 1
		}
		if level[k] != limit {
			continue
		}
		level[k] += d.remaining(rice)
		if level[k] > 3<<rice && rice < 4 {
			rice++
		}
	}
}

// maxPrefix is the largest prefix of a coefficient that is coded (9.3.3.11).
const maxPrefix = 32

// remaining decodes coeff_abs_level_remaining (9.3.3.11).
func (d *decoder) remaining(rice int) int {
	n := d.unary(maxPrefix + 1)
	switch {
	case n > maxPrefix:
		d.bad = true
		return 0
	case n <= 3:
		return n<<rice + d.fixed(rice)
	}
	return (1<<(n-3)+3-1)<<rice + d.fixed(n-3+rice)
}
