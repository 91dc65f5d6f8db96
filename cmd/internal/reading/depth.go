package reading

import (
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// limb is what a landmark hangs on: turning the named segments out of the plane
// of motion moves it by these segments' lengths towards the camera.
var limb = map[string][]struct{ turn, length string }{
	"knee":     {{"leg", "hip-knee"}},
	"ankle":    {{"leg", "hip-ankle"}, {"shank", "knee-ankle"}},
	"toe":      {{"leg", "hip-ankle"}, {"shank", "knee-ankle"}, {"foot", "ankle-toe"}},
	"shoulder": {{"trunk", "hip-shoulder"}},
	"elbow":    {{"trunk", "hip-shoulder"}, {"arm", "shoulder-elbow"}},
	"wrist":    {{"trunk", "hip-shoulder"}, {"arm", "shoulder-wrist"}, {"forearm", "elbow-wrist"}},
}

// depths is the prior of how far the marks lie towards the camera from the plane
// of motion, as parts of stature: their means and covariance. Landmarks of one
// limb go together; the two legs of one picture do not, and where they are seen
// from the side one is near and the other far, which way round nobody said.
func (p *Priors) depths(m geometry.Measure, names []string) (mean []float64, cov *mat.SymDense) {
	d := &p.Depth
	view := d.Sagittal
	frontal := isFrontal(m)
	if frontal {
		view = d.Frontal
	}
	const across = "across" // which of two sides is the near one
	twoSided := map[string]bool{}
	for _, n := range names {
		if s := sideOf(n); s != "" {
			twoSided[s] = true
		}
	}
	mean = make([]float64, len(names))
	loads := make([]map[string]float64, len(names)) // standard deviations by what causes them
	for i, n := range names {
		kind := kindOf(n)
		side := sideOf(n)
		mean[i] = view.Skin[kind]
		loads[i] = map[string]float64{"skin over " + n: d.Spread.Skin * view.Skin[kind]}
		root := "hip"
		if kind == "shoulder" || kind == "elbow" || kind == "wrist" {
			root = "shoulder"
		}
		out := d.Joint[root] // from the body's middle to the joint's axis, and on with the limb
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
			for _, cause := range slices.Sorted(maps.Keys(loads[i])) { // in one order, to the last bit
				c += loads[i][cause] * loads[j][cause]
			}
			cov.SetSym(i, j, c)
		}
	}
	return mean, cov
}

// isFrontal is whether the measure's plane is seen from the front or from behind.
func isFrontal(m geometry.Measure) bool { return strings.HasPrefix(m.Plane, "frontal") }

// sideOf is the side or role in front of a landmark's name, if there is one.
func sideOf(landmark string) string {
	side, _, ok := strings.Cut(landmark, "-")
	if !ok {
		return ""
	}
	return side
}
