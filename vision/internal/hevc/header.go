package hevc

// Kinds of NAL units (table 7-1).
const (
	firstIRAP, lastIRAP = 16, 23
	idrWithLeading      = 19
	idr                 = 20
	lastSlice           = 31 // higher numbers are no slices
	unitSPS, unitPPS    = 33, 34
)

// Kinds of slices (table 7-7).
const (
	sliceB = iota
	sliceP
	sliceI
)

// header holds the elements of a slice header that decoding of the slice data depends on (7.3.6.1).
type header struct {
	address            int // of the coding tree block at which the slice begins, in raster order
	kind               int
	saoLuma, saoChroma bool
	refs               [2]int
	mvdL1Zero          bool
	cabacInit          bool
	mergeCandidates    int
	qp                 int
}

// parseHeader reads the header of a slice. The verdict is Whole if the header is valid.
func (c *Checker) parseHeader(b *bitReader, nal int) (h *header, s *sps, p *pps, v Verdict) {
	first := b.flag()
	if nal >= firstIRAP && nal <= lastIRAP {
		b.skip(1)
	}
	id := b.ue()
	if b.invalid || id >= len(c.pps) {
		return nil, nil, nil, Damaged
	}
	if p = c.pps[id]; p != nil {
		s = c.sps[p.sps]
	}
	if s == nil {
		return nil, nil, nil, Unknown
	}
	h = &header{}
	if !first {
		if p.segments && b.flag() {
			return nil, nil, nil, Unknown
		}
		h.address = int(b.u(ceilLog2(s.columns * s.rows)))
	}
	h.body(b, nal, s, p)
	if p.sync {
		if n := b.atMost(s.rows); n > 0 {
			bits := 1 + b.atMost(31)
			b.skip(n * bits)
		}
	}
	if p.headExtend {
		b.skip(8 * b.atMost(256))
	}
	if !b.trailing() || h.qp < -6*(s.bitsLuma-8) || h.qp > 51 {
		return nil, nil, nil, Damaged
	}
	return h, s, p, Whole
}

// body reads the part between the address and the entry points.
func (h *header) body(b *bitReader, nal int, s *sps, p *pps) {
	b.skip(p.extraBits)
	h.kind = b.atMost(sliceI)
	if p.outputFlag {
		b.skip(1)
	}
	temporal, current := false, 0
	if nal != idrWithLeading && nal != idr {
		current = readRefs(b, s)
		temporal = s.temporalMV && b.flag()
	}
	if s.sao {
		h.saoLuma = b.flag()
		h.saoChroma = s.chroma && b.flag()
	}
	if h.kind != sliceI {
		h.predicted(b, s, p, temporal, current)
	}
	h.qp = p.initQP + b.se()
	if p.chromaOffsets {
		b.se()
		b.se()
	}
	off := p.deblockOff
	if p.deblockOverride && b.flag() {
		if off = b.flag(); !off {
			b.se()
			b.se()
		}
	}
	if p.filterAcross && (h.saoLuma || h.saoChroma || !off) {
		b.skip(1)
	}
}

// readRefs reads the picture order count and the reference picture sets, and returns the number of pictures that the
// current one may be predicted from.
func readRefs(b *bitReader, s *sps) int {
	b.skip(s.pocBits)
	current := 0
	if !b.flag() {
		set := parseRefSet(b, s.sets, len(s.sets), len(s.sets))
		current = set.current()
	} else if n := int(b.u(ceilLog2(len(s.sets)))); n < len(s.sets) {
		current = s.sets[n].current()
	} else {
		b.invalid = true
	}
	if !s.longTerm {
		return current
	}
	listed := 0
	if len(s.longTermUsed) > 0 {
		listed = b.atMost(maxRefs)
	}
	for i := range listed + b.atMost(maxRefs) {
		if i < listed {
			if n := int(b.u(ceilLog2(len(s.longTermUsed)))); n < len(s.longTermUsed) && s.longTermUsed[n] {
				current++
			}
		} else {
			b.skip(s.pocBits)
			if b.flag() {
				current++
			}
		}
		if b.flag() {
			b.ue()
		}
	}
	return current
}

// predicted reads the part for slices that are predicted from other pictures.
func (h *header) predicted(b *bitReader, s *sps, p *pps, temporal bool, current int) {
	lists := 1
	if h.kind == sliceB {
		lists = 2
	}
	h.refs = p.refs
	if b.flag() {
		for i := range lists {
			h.refs[i] = 1 + b.atMost(14)
		}
	}
	if p.listChange && current > 1 {
		for i := range lists {
			if b.flag() {
				b.skip(h.refs[i] * ceilLog2(current))
			}
		}
	}
	if h.kind == sliceB {
		h.mvdL1Zero = b.flag()
	}
	h.cabacInit = p.cabacInit && b.flag()
	if temporal {
		list := 0
		if h.kind == sliceB && !b.flag() {
			list = 1
		}
		if h.refs[list] > 1 {
			b.atMost(h.refs[list] - 1)
		}
	}
	if p.weighted[lists-1] {
		skipWeights(b, s, h.refs[:lists])
	}
	h.mergeCandidates = 5 - b.atMost(4)
}

// skipWeights passes over pred_weight_table (7.3.6.3).
func skipWeights(b *bitReader, s *sps, refs []int) {
	b.atMost(7)
	if s.chroma {
		b.se()
	}
	for _, n := range refs {
		var luma, chroma [16]bool
		for i := range n {
			luma[i] = b.flag()
		}
		for i := 0; s.chroma && i < n; i++ {
			chroma[i] = b.flag()
		}
		for i := range n {
			if luma[i] {
				b.se()
				b.se()
			}
			if chroma[i] {
				for range 4 {
					b.se()
				}
			}
		}
	}
}
