package desk

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/geometry"
	"ecart/vision/pose"
)

// proposer turns bodies that the network finds into marks for one measure.
type proposer struct {
	q    *reading.Request
	name string         // of the take
	size geometry.Point // of the picture, px
	// chest is the way the chest faces around the moment, the sum of pose.Body.Chest; zero until it is known.
	chest geometry.Vec
	// front is the side of the trunk's line on which the chest is in a clip: 1 clockwise of the line from hip to shoulder, -1
	// counterclockwise, 0 not known.
	front float64
}

// leastPresent is the probability of a point to be in the picture below which it is not
// proposed: it is then more likely outside.
const leastPresent = 0.5

// namedPoint is a proposed landmark.
type namedPoint struct {
	name, kind string
	side       pose.Side // of the body, unless it is the middle of both sides
	pose.Point
}

// landmarks returns the points of a body that the measure needs, and those that decide its
// sense.
func (p *proposer) landmarks(b *pose.Body) []namedPoint {
	both := func(kind string) []namedPoint {
		return []namedPoint{{"right-" + kind, kind, pose.Right, b.Of(kind, pose.Right)}, {"left-" + kind, kind, pose.Left, b.Of(kind, pose.Left)}}
	}
	middle := func(kind string) namedPoint { return namedPoint{kind, kind, pose.Left, b.Middle(kind)} }
	legEnd := "ankle"
	if p.q.Options.Leg == geometry.Thigh {
		legEnd = "knee"
	}
	switch p.q.Measure.Name {
	case "hip-split", "uneven-legs":
		legs := p.frontFirst(b, legEnd)
		return append([]namedPoint{{"front-" + legEnd, legEnd, legs[0], b.Of(legEnd, legs[0])}, {"back-" + legEnd, legEnd, legs[1], b.Of(legEnd, legs[1])}}, middle("hip"), middle("shoulder"))
	case "leg-separation":
		return append(append(both("hip"), both(legEnd)...), both("shoulder")...)
	}
	var out []namedPoint
	side, name := p.side(b)
	for _, kind := range oneSided[p.q.Measure.Name] {
		if kind == "ankle" && legEnd == "knee" && p.q.Measure.Name != "knee-bend" && p.q.Measure.Name != "foot-point" {
			kind = "knee"
		}
		out = append(out, namedPoint{name + kind, kind, side, b.Of(kind, side)})
	}
	if p.armsAlike(b) {
		return bothArms(b, out)
	}
	return out
}

// frontFirst returns the sides of the front leg and of the back leg, by where they end in the direction that the chest faces.
// Which is which does not change the angle between them.
func (p *proposer) frontFirst(b *pose.Body, legEnd string) [2]pose.Side {
	chest := p.chest
	if chest.Norm() == 0 {
		chest = b.Chest()
	}
	if v := b.Of(legEnd, pose.Left).At.Sub(b.Of(legEnd, pose.Right).At); v.X*chest.X+v.Y*chest.Y > 0 {
		return [2]pose.Side{pose.Left, pose.Right}
	}
	return [2]pose.Side{pose.Right, pose.Left}
}

func needsRibs(m geometry.Measure) bool { return slices.Contains(m.Needs, "ribs") }

// oneSided has the landmarks of the measures of one side of the body.
var oneSided = map[string][]string{
	"shoulder-flexion":   {"shoulder", "hip", "elbow"},
	"shoulder-extension": {"shoulder", "hip", "elbow"},
	"pike":               {"hip", "shoulder", "ankle"},
	"knee-bend":          {"hip", "knee", "ankle", "shoulder"},
	"elbow-bend":         {"shoulder", "elbow", "wrist"},
	"foot-point":         {"knee", "ankle", "toe"},
	"off-vertical":       {"wrist", "ankle"},
	"leg-rise":           {"hip", "ankle"},
	"hip-flexion":        {"shoulder", "hip", "ankle"},
	"hip-extension":      {"shoulder", "hip", "ankle"},
	"foot-sickle":        {"knee", "ankle", "toe"},
}

// side returns the side of the body that a measure of one side is read on: the one asked for,
// else for leg-rise the higher leg, else the side nearer to the camera. The string is the
// prefix of its landmarks, empty if front or back was asked for.
func (p *proposer) side(b *pose.Body) (pose.Side, string) {
	s := b.Near()
	switch p.q.Options.Side {
	case "left":
		s = pose.Left
	case "right":
		s = pose.Right
	case "":
		if p.q.Measure.Name == "leg-rise" {
			if s = pose.Right; b.Of("ankle", pose.Left).At.Y < b.Of("ankle", pose.Right).At.Y {
				s = pose.Left
			}
		}
	default:
		return s, ""
	}
	return s, [...]string{"left-", "right-"}[s]
}

// inside reports whether a point is in the picture, by its place and by the network.
func (p *proposer) inside(m namedPoint) bool {
	return m.Present >= leastPresent && m.At.X >= 0 && m.At.Y >= 0 && m.At.X <= p.size.X-1 && m.At.Y <= p.size.Y-1
}

// angle returns the angle of a body, degrees, for finding the widest moment. It is NaN if a
// landmark is not in the picture or the angle is beyond the reach of bodies. If the way the
// chest faces is not known, it is the angle without its sense.
func (p *proposer) angle(b *pose.Body) float64 {
	at := p.places(b)
	if at == nil {
		return math.NaN()
	}
	return p.angleAt(at, p.facing(b))
}

// places returns the landmarks of a body, y up; nil if one is not in the picture.
func (p *proposer) places(b *pose.Body) map[string]geometry.Point {
	at := map[string]geometry.Point{}
	for _, m := range p.landmarks(b) {
		if !p.inside(m) {
			return nil
		}
		at[m.name] = geometry.Point{X: m.At.X, Y: -m.At.Y}
	}
	return at
}

// angleAt returns the angle between landmarks, y up, of a body with this facing; see angle.
func (p *proposer) angleAt(at map[string]geometry.Point, facing geometry.Facing) float64 {
	measure, options := p.q.Measure, p.q.Options
	if measure.Facing && options.Facing == "" {
		if options.Facing = facing; facing == "" {
			measure = measure.EitherWay()
		}
	}
	bound, err := measure.Bind(at, options)
	if err != nil {
		return math.NaN()
	}
	var points []geometry.Point
	for _, name := range bound.Landmarks() {
		points = append(points, at[name])
	}
	deg := bound.Angle(points).Degrees()
	if reach, ok := p.q.PriorsUsed().Bodies.Reach[measure.Name]; ok && (deg < reach[0] || deg > reach[1]) {
		return math.NaN()
	}
	return deg
}

func (p *proposer) still(b *pose.Body) (*Proposal, error) {
	marks, err := p.marks(b, nil, 0, facingOf([]*pose.Body{b}))
	return &Proposal{Marks: marks}, err
}

func (p *proposer) clip(f *pose.Found) (*Proposal, error) {
	k := f.Peak
	out := &Proposal{MomentS: k.Time.Seconds(), MomentSDS: k.SD}
	priors := p.q.PriorsUsed().Proposal
	switch {
	case k.Fall > 0 && k.Followed:
		out.MomentSDS = math.Hypot(k.SD, priors.FollowedMomentSDS)
	case k.Fall > 0: // an error of the angle that drifts by slope moves the top by slope/Fall
		out.MomentSDS = math.Hypot(k.SD, priors.DriftSDDegS/k.Fall)
	}
	var near []*pose.Body
	for _, m := range f.Moments {
		angle := math.NaN()
		if b := m.Best(); b != nil {
			angle = p.angle(b)
			if math.Abs(m.Time.Seconds()-out.MomentS) < 0.25 {
				near = append(near, b)
			}
		}
		out.Curve = append(out.Curve, ProposedAngle{m.Frame, m.Time.Seconds(), angle})
	}
	for _, l := range k.Legs {
		if l != nil {
			out.Outlines++
		}
	}
	for _, b := range near {
		p.chest = p.chest.Add(b.Chest())
	}
	facing := facingOf(near)
	var err error
	if out.Marks, err = p.marks(k.Body, k, k.Frame, facing); err != nil {
		return nil, err
	}
	out.Marks.Widest = p.widest(f, out.MomentSDS)
	out.Network, _ = p.marks(k.Network, nil, k.Frame, facing) // they may lie outside the picture
	return out, nil
}

// widest returns the peak in frames; nil if it is not known how fast the angle falls around it. sd is
// the moment's standard deviation, seconds.
func (p *proposer) widest(f *pose.Found, sd float64) *reading.Widest {
	k := f.Peak
	var before, after *pose.Moment // the farthest on either side of the peak within its reach
	for i := range f.Moments {
		m := &f.Moments[i]
		switch d := m.Time.Seconds() - k.Time.Seconds(); {
		case d < 0 && d >= -k.Reach && before == nil:
			before = m
		case d >= 0 && d <= k.Reach:
			after = m
		}
	}
	if k.Fall == 0 || before == nil || after == nil {
		return nil
	}
	interval := (after.Time - before.Time).Seconds() / float64(after.Frame-before.Frame)
	return &reading.Widest{Measure: p.q.Measure.Name, Frame: round(float64(before.Frame) + (k.Time-before.Time).Seconds()/interval),
		SD: round(sd / interval), Fall: k.Fall * interval * interval, Reach: math.Floor(k.Reach / interval)}
}

// marks returns the proposals for a body; k is the peak that it belongs to, nil for a still.
func (p *proposer) marks(b *pose.Body, k *pose.Peak, frame int, facing string) (*reading.Marks, error) {
	m := &reading.Marks{Schema: reading.MarksSchema, Frame: frame, Found: reading.OnlySeen}
	if p.q.Measure.Facing && p.q.Options.Facing == "" {
		m.Facing = facing
	}
	var missing []string
	for _, l := range p.landmarks(b) {
		if !p.inside(l) {
			missing = append(missing, l.name)
			continue
		}
		cov := p.covariance(b, k, l)
		m.Marks = append(m.Marks, reading.Placement{Landmark: l.name, X: round(l.At.X), Y: round(l.At.Y), Covariance: &cov, Proposed: true})
	}
	if missing != nil {
		slices.Sort(missing)
		return nil, fault.New(fmt.Sprintf("somebody is seen in %q, but of what the angle needs the picture does not show %s", p.name, text.And(missing)),
			"take the picture so that all of the body is in it, or place the marks by hand")
	}
	return m, nil
}

// round rounds to a hundredth, which in pixels is far below the uncertainty of a proposal.
func round(v float64) float64 { return math.Round(v*100) / 100 }

// covariance returns the covariance of a proposed landmark, px^2, from the study's figures
// (priors.yaml) and the athlete's size in the picture. Elbows and wrists are known better
// across the arm than along it. If a leg's axis comes from its outline, hip and ankle are
// known better across it.
func (p *proposer) covariance(b *pose.Body, k *pose.Peak, l namedPoint) [2][2]float64 {
	priors := p.q.PriorsUsed()
	share := priors.Segments.Fraction
	stature := b.Length() / (share["hip-shoulder"] + share["hip-ankle"])
	sds, arm := priors.Proposal.SDStature, priors.Proposal.ArmSDStature
	if k != nil {
		sds, arm = priors.Proposal.ClipSDStature, priors.Proposal.ClipArmSDStature
	}
	sd := sds[l.kind] * stature
	if k != nil && p.armsAlike(b) {
		arm = priors.Proposal.ClipBothArmsSDStature
		if l.kind != "elbow" {
			sd = arm * stature
		}
	}
	across := sd
	var along geometry.Vec
	switch {
	case l.kind == "elbow" || l.kind == "wrist":
		limb := l.At.Sub(b.Of("shoulder", l.side).At)
		if n := limb.Norm(); n > 0 {
			along, across = limb.Scale(1/n), arm*stature
		}
	case k != nil && l.kind != "shoulder":
		along, across = p.legAxis(k, l, sd, priors.Proposal.OutlineSDStature*stature)
	}
	if across == sd {
		return [2][2]float64{{sd * sd, 0}, {0, sd * sd}}
	}
	n := geometry.Vec{X: -along.Y, Y: along.X}
	a, c := sd*sd, across*across
	xy := a*along.X*along.Y + c*n.X*n.Y
	return [2][2]float64{{a*along.X*along.X + c*n.X*n.X, xy}, {xy, a*along.Y*along.Y + c*n.Y*n.Y}}
}

// legAxis returns the direction of the leg that a landmark is on, and the landmark's standard
// deviation across it, px: outline if the leg's axis comes from its outline, or if an ankle
// is on the outline of its shank; else sd. The middle of the hips has a direction only if both
// legs have an outline and lie roughly in one line: else each leg improves it in another
// direction.
func (p *proposer) legAxis(k *pose.Peak, l namedPoint, sd, outline float64) (geometry.Vec, float64) {
	unit := func(a *pose.Axis) geometry.Vec {
		sin, cos := math.Sincos(float64(a.Direction))
		return geometry.Vec{X: cos, Y: sin}
	}
	left, right := k.Legs[pose.Left], k.Legs[pose.Right]
	if l.kind == "hip" && !p.ownHips() {
		if left == nil || right == nil {
			return geometry.Vec{}, sd
		}
		u, v := unit(left), unit(right)
		along := geometry.Vec{X: u.X - v.X, Y: u.Y - v.Y}
		if n := along.Norm(); n > 1 { // the legs open by more than 60 degrees
			return along.Scale(1 / n), outline
		}
		return geometry.Vec{}, sd
	}
	a := left
	if l.side == pose.Right {
		a = right
	}
	if a == nil && l.kind == "ankle" && k.Shanks[l.side] {
		shank := l.At.Sub(k.Body.Of("knee", l.side).At)
		if n := shank.Norm(); n > 0 {
			return shank.Scale(1 / n), outline
		}
	}
	if a == nil {
		return geometry.Vec{}, sd
	}
	return unit(a), outline
}

// ownHips reports whether each leg's axis runs through its own hip (pose.Options.OwnHips).
func (p *proposer) ownHips() bool { return p.q.Measure.Name == "leg-separation" }
