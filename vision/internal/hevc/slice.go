package hevc

// picture is the state of decoding one picture: the data of decoded units that later units depend on.
type picture struct {
	s     *sps
	done  int // coding tree blocks decoded
	count int // coding tree blocks in the picture

	// The last unit decoded in each row and in each column of 4 luma samples: only the next one beside it and below it depends on it.
	inRow, inColumn []unit
}

// unit is what later units depend on.
type unit struct {
	depth uint8 // of the coding quadtree
	skip  bool
	intra uint8 // luma intra prediction mode; dc for other units
}

func newPicture(s *sps) *picture {
	return &picture{s: s, count: s.columns * s.rows, inRow: make([]unit, s.rows<<(s.ctb-2)), inColumn: make([]unit, s.columns<<(s.ctb-2))}
}

// decoder decodes one slice.
type decoder struct {
	engine
	*picture
	p        *pps
	h        *header
	row      [contexts]uint8 // the contexts after the second block of the row above
	kind     int             // initType
	x0, y0   int             // of the coding tree block, luma samples
	left, up bool            // the neighbouring coding tree block is available
	bad      bool            // an invalid value was decoded
	qpCoded  bool            // the quantisation group has its difference
	cu       codingUnit
}

// decode decodes slice data (7.3.8.1) and reports whether it is whole. data is the slice without emulation prevention
// bytes; slice data begins at byte at.
func (c *picture) decode(h *header, p *pps, data []byte, at int) bool {
	if h.address != c.done {
		return false // a slice is missing or repeated
	}
	d := &decoder{picture: c, p: p, h: h}
	switch {
	case h.kind == sliceI:
	case (h.kind == sliceP) != h.cabacInit:
		d.kind = 1
	default:
		d.kind = 2
	}
	d.start(data, at)
	d.reset(d.kind, h.qp)
	for c.done < c.count {
		addr := c.done
		x, y := addr%c.s.columns, addr/c.s.columns
		d.x0, d.y0 = x<<c.s.ctb, y<<c.s.ctb
		d.left = x > 0 && addr-1 >= h.address
		d.up = addr-c.s.columns >= h.address
		if p.sync && x == 0 && addr > h.address && !d.startRow(addr) {
			return false
		}
		if h.saoLuma || h.saoChroma {
			d.sao()
		}
		d.quadtree(d.x0, d.y0, c.s.ctb, 0)
		if d.bad || d.over() {
			return false
		}
		if x == 1 {
			d.row = d.contexts
		}
		c.done++
		if d.terminates() {
			return d.endsHere()
		}
	}
	return false
}

// startRow starts a row coded as a substream (wavefronts), with the contexts after the second block of the row above
// (9.3.1). It reports whether the preceding row ends validly.
func (d *decoder) startRow(addr int) bool {
	ends := d.terminates()
	at, ok := d.afterEnd()
	d.start(d.data, at)
	if above := addr - d.s.columns + 1; d.s.columns > 1 && above >= d.h.address {
		d.contexts = d.row
	} else {
		d.reset(d.kind, d.h.qp)
	}
	return ends && ok
}

// endsHere reports whether nothing but the stop bit, zeros and pairs of zero bytes is left (7.3.2.14).
func (d *decoder) endsHere() bool {
	at, ok := d.afterEnd()
	for _, b := range d.data[min(at, len(d.data)):] {
		ok = ok && b == 0
	}
	return ok
}

// sao decodes the sample adaptive offset (7.3.8.3).
func (d *decoder) sao() {
	if d.left && d.bin(saoMerge) == 1 || d.up && d.bin(saoMerge) == 1 {
		return
	}
	kind := 0
	for c := range 3 {
		if c == 0 && !d.h.saoLuma || c > 0 && !d.h.saoChroma {
			continue
		}
		if c < 2 {
			kind = 0
			if d.bin(saoType) == 1 {
				kind = 1 + d.bypass()
			}
		}
		if kind == 0 {
			continue
		}
		depth := d.s.bitsLuma
		if c > 0 {
			depth = d.s.bitsChroma
		}
		nonzero := 0
		for range 4 {
			if d.unary(1<<(min(depth, 10)-5)-1) > 0 {
				nonzero++
			}
		}
		if kind == 1 {
			d.fixed(nonzero + 5)
		} else if c < 2 {
			d.fixed(2)
		}
	}
}
