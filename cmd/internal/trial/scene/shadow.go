package scene

import "math"

// shadow is how the bodies darken the floor: a grid of points, worked out once
// for a frame.
type shadow struct {
	x0, z0 float64
	nx, nz int
	dim    []float32 // share of the light left
}

const (
	shadowStep  = 0.025 // m
	shadowReach = 1.1   // m about each body
)

func (g *rig) shadow() shadow {
	lo, hi := Vec{X: math.Inf(1), Z: math.Inf(1)}, Vec{X: math.Inf(-1), Z: math.Inf(-1)}
	for i := range g.solids {
		for _, p := range [2]Vec{g.solids[i].a, g.solids[i].b} {
			lo.X, lo.Z = math.Min(lo.X, p.X), math.Min(lo.Z, p.Z)
			hi.X, hi.Z = math.Max(hi.X, p.X), math.Max(hi.Z, p.Z)
		}
	}
	s := shadow{x0: lo.X - shadowReach, z0: lo.Z - shadowReach}
	s.nx = int((hi.X-lo.X+2*shadowReach)/shadowStep) + 2
	s.nz = int((hi.Z-lo.Z+2*shadowReach)/shadowStep) + 2
	s.dim = make([]float32, s.nx*s.nz)
	type spot struct {
		c Vec
		r float64
	}
	var spots []spot
	for i := range g.solids {
		o := &g.solids[i]
		n := 1 + int(o.h/0.12)
		for k := range n {
			f := (float64(k) + 0.5) / float64(n)
			spots = append(spots, spot{lerp(o.a, o.b, f), o.radius(f) / math.Sqrt(math.Sqrt(float64(n)))})
		}
	}
	inBands(s.nz, 8, func(from, to int) {
		for iz := from; iz < to; iz++ {
			for ix := range s.nx {
				p := Vec{X: s.x0 + float64(ix)*shadowStep, Z: s.z0 + float64(iz)*shadowStep}
				lost := 0.0
				for i := range spots {
					q := &spots[i]
					v := q.c.Sub(p)
					d2 := v.Dot(v) + 0.25*q.r*q.r
					// the lamps over the strip weigh most: the cosine to them, cubed
					cos := v.Dot(keyLight) / math.Sqrt(d2)
					if cos > 0 {
						lost += 1.7 * q.r * q.r * cos * cos * cos / d2
					}
				}
				s.dim[iz*s.nx+ix] = float32(math.Exp(-lost * edgeFade(ix, s.nx) * edgeFade(iz, s.nz)))
			}
		}
	})
	return s
}

// edgeFade lets the grid's rim run out softly.
func edgeFade(i, n int) float64 {
	const rim = 24
	return clamp(float64(min(i, n-1-i))/rim, 0, 1)
}

// at is the share of light left at a place on the floor; 1 off the grid and where
// the place is not a number.
func (s *shadow) at(x, z float64) float64 {
	fx, fz := (x-s.x0)/shadowStep, (z-s.z0)/shadowStep
	if !(fx >= 0 && fz >= 0 && fx < float64(s.nx-1) && fz < float64(s.nz-1)) {
		return 1
	}
	ix, iz := int(fx), int(fz)
	u, v := float32(fx-float64(ix)), float32(fz-float64(iz))
	a := s.dim[iz*s.nx+ix:]
	b := s.dim[(iz+1)*s.nx+ix:]
	return float64((a[0]*(1-u)+a[1]*u)*(1-v) + (b[0]*(1-u)+b[1]*u)*v)
}
