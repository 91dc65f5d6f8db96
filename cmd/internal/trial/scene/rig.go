package scene

import "math"

// rig is everything that moves, at one moment, with the camera at that moment.
type rig struct {
	view   view
	solids []solid
	discs  []disc
	sheets []sheet
	own    int    // number of the athlete's own solids, which come first
	spans  []span // of the solids, then of the discs, then of the sheets
}

// flyer is a ball or a rod that moves through the picture at a constant velocity.
type flyer struct {
	from, speed Vec // position at t = 0, m; velocity, m/s
	along       Vec // from one end to the other, m; zero for a ball
	radius      float64
	colour      uint32
}

func (b flyer) at(t float64) Vec {
	return b.from.Add(b.speed.Mul(t))
}

// pose builds the rig of a moment.
func (s *Scene) pose(t float64) *rig {
	g := &rig{view: s.cameraAt(t).view(), solids: make([]solid, 0, 96)}
	if s.Motion != nil {
		pose := s.Motion.At(t)
		sk := s.Body.skeleton(pose)
		g.solids = s.Body.flesh(&sk, 0, g.solids)
		g.own = len(g.solids)
		j := joints(sk, pose)
		for i, k := range s.Stickers {
			side, kind := s.stickerJoint(i)
			g.discs = append(g.discs, stickerDisc(&sk, g.solids[:g.own], j.at[side][kind], side, kind, k))
		}
	}
	for i, o := range s.others {
		sk := o.body.skeleton(o.motion.At(t))
		g.solids = o.body.flesh(&sk, int8(i+1), g.solids)
	}
	for _, b := range s.flyers {
		at := b.at(t)
		g.solids = append(g.solids, newSolid(at, at.Add(b.along), b.radius, b.radius, 1, Vec{Z: 1}, partProp, uniform(finish{colour: hexToLinear(b.colour), gloss: 0.04})))
	}
	for _, b := range s.Boards {
		g.sheets = append(g.sheets, b.sheet(t))
	}
	g.spans = make([]span, 0, len(g.solids)+len(g.discs)+len(g.sheets))
	for i := range g.solids {
		o := &g.solids[i]
		ra, rb := o.ra, o.rb
		stretch := math.Max(1, o.girth*2-1)
		if o.h == 0 {
			ra, rb, stretch = o.bound, o.bound, 1
		}
		g.spans = append(g.spans, g.spanOf(o.a, o.b, ra*stretch, rb*stretch))
	}
	for i := range g.discs {
		d := &g.discs[i]
		g.spans = append(g.spans, g.spanOf(d.at, d.at, d.r, d.r))
	}
	for i := range g.sheets {
		g.spans = append(g.spans, g.sheetSpan(&g.sheets[i]))
	}
	return g
}

// span is a stadium in the picture that contains a solid, disc or sheet.
type span struct {
	x0, y0, x1, y1 float64
	r              float64
	none           bool
}

func (g *rig) spanOf(a, b Vec, ra, rb float64) span {
	var s span
	var ok0, ok1 bool
	s.x0, s.y0, ok0 = g.view.project(a)
	s.x1, s.y1, ok1 = g.view.project(b)
	if !ok0 || !ok1 {
		s.none = true
		return s
	}
	slack := 1.08
	if !g.view.straight {
		slack = 1.6
	}
	for _, e := range [2]struct {
		p Vec
		r float64
	}{{a, ra}, {b, rb}} {
		depth := -g.view.r[2].Dot(e.p.Sub(g.view.from))
		if depth <= 2*e.r {
			s.none = true
			return s
		}
		s.r = math.Max(s.r, slack*g.view.focal*e.r/(depth-e.r)+2)
	}
	return s
}

// row returns the columns that a span may cover in a row; false if it covers none.
func (s *span) row(y float64) (lo, hi float64, ok bool) {
	if s.none {
		return 0, 0, false
	}
	low, high := math.Min(s.y0, s.y1)-s.r, math.Max(s.y0, s.y1)+s.r
	if y < low || y > high {
		return 0, 0, false
	}
	a, b := 0.0, 1.0
	if dy := s.y1 - s.y0; math.Abs(dy) > 1e-6 {
		a, b = (y-s.r-s.y0)/dy, (y+s.r-s.y0)/dy
		if a > b {
			a, b = b, a
		}
		a, b = clamp(a, 0, 1), clamp(b, 0, 1)
	}
	xa, xb := s.x0+(s.x1-s.x0)*a, s.x0+(s.x1-s.x0)*b
	return math.Min(xa, xb) - s.r, math.Max(xa, xb) + s.r, true
}

// active is a solid, disc or sheet that may be seen in a row, and its columns.
type active struct {
	index  int
	lo, hi float64
}

func (g *rig) activeIn(y float64, list []active) []active {
	list = list[:0]
	for i := range g.spans {
		if lo, hi, ok := g.spans[i].row(y); ok {
			list = append(list, active{i, lo, hi})
		}
	}
	return list
}

// rayHit is the first thing on a ray; none if index is below 0.
type rayHit struct {
	index  int // into the solids, then the discs, then the sheets
	t      float64
	normal Vec // local
}

func (g *rig) firstHit(from, dir Vec, x float64, list []active) rayHit {
	best := rayHit{index: -1, t: math.Inf(1)}
	n, m := len(g.solids), len(g.solids)+len(g.discs)
	for _, a := range list {
		if x < a.lo || x > a.hi {
			continue
		}
		switch {
		case a.index < n:
			if t, normal, ok := g.solids[a.index].hit(from, dir); ok && t < best.t {
				best = rayHit{a.index, t, normal}
			}
		case a.index < m:
			if t, ok := g.discs[a.index-n].hit(from, dir); ok && t < best.t {
				best = rayHit{index: a.index, t: t}
			}
		default:
			if t, ok := g.sheets[a.index-m].hit(from, dir); ok && t < best.t {
				best = rayHit{index: a.index, t: t}
			}
		}
	}
	return best
}

// allActive lists everything without bounds on columns, for a ray that is not in a row.
func (g *rig) allActive() []active {
	list := make([]active, len(g.spans))
	for i := range list {
		list[i] = active{i, math.Inf(-1), math.Inf(1)}
	}
	return list
}

// identity numbers the hit thing and its finish. Neighbouring pixels of different
// identities lie on an edge and are supersampled.
func (g *rig) identity(s rayHit, from, dir Vec) int32 {
	if s.index < 0 {
		return 0
	}
	id := int32(s.index+1) * 2
	switch n, m := len(g.solids), len(g.solids)+len(g.discs); {
	case s.index < n:
		if o := &g.solids[s.index].material; o.twoFinishes && o.beyond(from.Add(dir.Mul(s.t))) {
			id++
		}
	case s.index >= m:
		if g.sheets[s.index-m].inked(from.Add(dir.Mul(s.t))) {
			id++
		}
	}
	return id
}
