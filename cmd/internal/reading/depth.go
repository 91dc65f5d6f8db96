package reading

import (
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// limb lists the segments from the trunk to a landmark. Turning one of them out of the plane of
// motion moves the landmark towards the camera by the segment's length times the angle.
var limb = map[string][]struct{ turn, length string }{
	"knee":     {{"leg", "hip-knee"}},
	"ankle":    {{"leg", "hip-ankle"}, {"shank", "knee-ankle"}},
	"toe":      {{"leg", "hip-ankle"}, {"shank", "knee-ankle"}, {"foot", "ankle-toe"}},
	"ribs":     {{"trunk", "hip-ribs"}},
	"shoulder": {{"trunk", "hip-shoulder"}},
	"elbow":    {{"trunk", "hip-shoulder"}, {"arm", "shoulder-elbow"}},
	"wrist":    {{"trunk", "hip-shoulder"}, {"arm", "shoulder-wrist"}, {"forearm", "elbow-wrist"}},
}

// depths is the prior of the marks' distances from the plane of motion, towards the camera, as
// fractions of stature: mean and covariance. Landmarks of one limb are correlated and those of
// two legs are not; but of two legs seen from the side one is near and the other far, and it is
// not known which.
func (p *Priors) depths(m geometry.Measure, names []string) (mean []float64, cov *mat.SymDense) {
	d := &p.Depth
	view := d.Sagittal
	frontal := isFrontal(m)
	if frontal {
		view = d.Frontal
	}
	const across = "across" // the common cause: which of the two sides is near
	twoSided := map[string]bool{}
	for _, n := range names {
		if s := sideOf(n); s != "" {
			twoSided[s] = true
		}
	}
	mean = make([]float64, len(names))
	loads := make([]map[string]float64, len(names)) // standard deviations by cause
	for i, n := range names {
		kind := kindOf(n)
		side := sideOf(n)
		mean[i] = view.Skin[kind]
		loads[i] = map[string]float64{"skin over " + n: d.Spread.Skin * view.Skin[kind]}
		root := "hip"
		if kind == "shoulder" || kind == "elbow" || kind == "wrist" {
			root = "shoulder"
		}
		out := d.Joint[root] // from the body's midplane to the joint's axis, then along the limb
		for _, l := range limb[kind] {
			whose := side
			if l.turn == "trunk" {
				whose = ""
			}
			length := p.Segments.Fraction[l.length]
			loads[i][whose+l.turn] = length * view.LeanDeg[l.turn] * math.Pi / 180
			out += length * view.OutDeg[l.turn] * math.Pi / 180
		}
		switch {
		case frontal:
		case len(twoSided) == 2 && side != "":
			loads[i][across] = out
			if side == "back" || side == "left" {
				loads[i][across] = -out
			}
		default:
			mean[i] += out
			loads[i]["joint "+root] = d.Spread.Joint * d.Joint[root]
		}
	}
	cov = mat.NewSymDense(len(names), nil)
	for i := range names {
		for j := i; j < len(names); j++ {
			var c float64
			for _, cause := range slices.Sorted(maps.Keys(loads[i])) { // in a fixed order, for the same last bit
				c += loads[i][cause] * loads[j][cause]
			}
			cov.SetSym(i, j, c)
		}
	}
	return mean, cov
}

// isFrontal reports whether the measure is seen from the front or from behind.
func isFrontal(m geometry.Measure) bool { return strings.HasPrefix(m.Plane, "frontal") }

// sideOf is the side or role in a landmark's name; "" if there is none.
func sideOf(landmark string) string {
	side, _, ok := strings.Cut(landmark, "-")
	if !ok {
		return ""
	}
	return side
}
