package hevc

// sps holds the elements of a sequence parameter set that the syntax of slices depends on (7.3.2.2).
type sps struct {
	chroma                 bool // 4:2:0, else monochrome
	width, height          int  // luma samples
	bitsLuma, bitsChroma   int
	pocBits                int
	minCB, ctb             int // log2 of the side of the smallest coding block and of the coding tree block
	minTB, maxTB           int // log2 of the side of the smallest and largest transform block
	depthInter, depthIntra int // largest depth of the transform tree
	amp, sao               bool
	sets                   []refSet
	longTerm               bool
	longTermUsed           []bool // of the listed long-term pictures: used by the current picture
	temporalMV             bool

	columns, rows int // of coding tree blocks
}

// pps holds those of a picture parameter set (7.3.2.3).
type pps struct {
	sps                                int
	segments, outputFlag               bool // segments: slices may have dependent segments
	extraBits                          int
	signHiding, cabacInit              bool
	refs                               [2]int // default number of reference pictures in each list
	initQP                             int
	transformSkip, qpDelta             bool
	qpDeltaDepth                       int
	chromaOffsets                      bool
	weighted                           [2]bool // P, B
	bypass, sync                       bool
	filterAcross, deblockOverride      bool
	deblockOff, listChange, headExtend bool
}

// maxSide is the largest side of a picture, luma samples; level 6.2 allows 16,888.
const maxSide = 16384

// parseSPS returns nil if the set is damaged or uses tools that this package does not decode.
func parseSPS(data []byte) (id int, s *sps) {
	b := &bitReader{data: data}
	s = &sps{}
	b.skip(4)
	layers := int(b.u(3)) // number of temporal sub-layers, minus one
	b.skip(1)
	skipProfile(b, layers)
	id = b.atMost(15)
	format := b.ue()
	s.chroma = format == 1
	s.width, s.height = b.atMost(maxSide), b.atMost(maxSide)
	if b.flag() { // conformance window
		for range 4 {
			b.ue()
		}
	}
	s.bitsLuma, s.bitsChroma = 8+b.atMost(8), 8+b.atMost(8)
	s.pocBits = 4 + b.atMost(12)
	first := layers
	if b.flag() {
		first = 0
	}
	for ; first <= layers; first++ {
		b.ue()
		b.ue()
		b.ue()
	}
	s.minCB = 3 + b.atMost(3)
	s.ctb = s.minCB + b.atMost(3)
	s.minTB = 2 + b.atMost(3)
	s.maxTB = s.minTB + b.atMost(3)
	s.depthInter, s.depthIntra = b.atMost(4), b.atMost(4)
	if lists := b.flag(); lists && b.flag() {
		skipScaling(b)
	}
	s.amp, s.sao = b.flag(), b.flag()
	pcm := b.flag() // if set, the elements after it are misread, and the set is refused below
	sets := b.atMost(64)
	for i := range sets {
		s.sets = append(s.sets, parseRefSet(b, s.sets, i, sets))
		if b.invalid {
			return 0, nil
		}
	}
	if s.longTerm = b.flag(); s.longTerm {
		for range b.atMost(32) {
			b.skip(s.pocBits)
			s.longTermUsed = append(s.longTermUsed, b.flag())
		}
	}
	s.temporalMV = b.flag()
	b.skip(1)
	if b.flag() {
		skipVUI(b, layers)
	}
	extended := b.flag() && b.u(8) != 0
	if b.invalid || extended || pcm || format > 1 || s.ctb < 4 || s.ctb > 6 || s.maxTB > min(5, s.ctb) || s.minTB >= s.minCB || s.width == 0 || s.height == 0 ||
		s.width&(1<<s.minCB-1) != 0 || s.height&(1<<s.minCB-1) != 0 {
		return 0, nil
	}
	s.columns, s.rows = (s.width+1<<s.ctb-1)>>s.ctb, (s.height+1<<s.ctb-1)>>s.ctb
	return id, s
}

// skipProfile passes over profile_tier_level (7.3.3).
func skipProfile(b *bitReader, layers int) {
	b.skip(88 + 8)
	var profile, level [8]bool
	for i := range layers {
		profile[i], level[i] = b.flag(), b.flag()
	}
	if layers > 0 {
		b.skip(2 * (8 - layers))
	}
	for i := range layers {
		if profile[i] {
			b.skip(88)
		}
		if level[i] {
			b.skip(8)
		}
	}
}

// skipScaling passes over scaling_list_data (7.3.4).
func skipScaling(b *bitReader) {
	for size := range 4 {
		step := 1
		if size == 3 {
			step = 3
		}
		for matrix := 0; matrix < 6; matrix += step {
			if !b.flag() {
				b.ue()
				continue
			}
			if size > 1 {
				b.se()
			}
			for range min(64, 1<<(4+2*size)) {
				b.se()
			}
		}
	}
}

// skipVUI passes over vui_parameters (E.2.1).
func skipVUI(b *bitReader, layers int) {
	if b.flag() && b.u(8) == 255 {
		b.skip(32)
	}
	if b.flag() {
		b.skip(1)
	}
	if b.flag() {
		b.skip(4)
		if b.flag() {
			b.skip(24)
		}
	}
	if b.flag() {
		b.ue()
		b.ue()
	}
	b.skip(3)
	if b.flag() {
		for range 4 {
			b.ue()
		}
	}
	if b.flag() {
		b.skip(64)
		if b.flag() {
			b.ue()
		}
		if b.flag() {
			skipHRD(b, layers)
		}
	}
	if b.flag() {
		b.skip(3)
		for range 5 {
			b.ue()
		}
	}
}

// skipHRD passes over hrd_parameters (E.2.2).
func skipHRD(b *bitReader, layers int) {
	nal, vcl, parts := b.flag(), b.flag(), false
	if nal || vcl {
		if parts = b.flag(); parts {
			b.skip(8 + 5 + 1 + 5)
		}
		b.skip(8)
		if parts {
			b.skip(4)
		}
		b.skip(15)
	}
	for range layers + 1 {
		fixed := b.flag()
		fixed = fixed || b.flag()
		low := false
		if fixed {
			b.ue()
		} else {
			low = b.flag()
		}
		count := 1
		if !low {
			count += b.atMost(31)
		}
		for _, on := range []bool{nal, vcl} {
			for i := 0; on && i < count; i++ {
				b.ue()
				b.ue()
				if parts {
					b.ue()
					b.ue()
				}
				b.skip(1)
			}
		}
	}
}

// parsePPS returns nil if the set is damaged or uses tools that this package does not decode.
func parsePPS(data []byte) (id int, p *pps) {
	b := &bitReader{data: data}
	p = &pps{}
	id, p.sps = b.atMost(63), b.atMost(15)
	p.segments, p.outputFlag = b.flag(), b.flag()
	p.extraBits = int(b.u(3))
	p.signHiding, p.cabacInit = b.flag(), b.flag()
	p.refs = [2]int{1 + b.atMost(14), 1 + b.atMost(14)}
	p.initQP = 26 + b.se()
	b.skip(1)
	p.transformSkip, p.qpDelta = b.flag(), b.flag()
	if p.qpDelta {
		p.qpDeltaDepth = b.atMost(3)
	}
	b.se()
	b.se()
	p.chromaOffsets = b.flag()
	p.weighted = [2]bool{b.flag(), b.flag()}
	p.bypass = b.flag()
	tiles := b.flag()
	p.sync = b.flag()
	p.filterAcross = b.flag()
	if b.flag() {
		p.deblockOverride, p.deblockOff = b.flag(), b.flag()
		if !p.deblockOff {
			b.se()
			b.se()
		}
	}
	if b.flag() {
		skipScaling(b)
	}
	p.listChange = b.flag()
	b.ue()
	p.headExtend = b.flag()
	if extended := b.flag() && b.u(8) != 0; b.invalid || extended || tiles {
		return 0, nil
	}
	return id, p
}
