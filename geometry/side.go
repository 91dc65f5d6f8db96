package geometry

import (
	"fmt"
	"math"
	"strings"
)

// undecided is the angle between two lines below which neither is used to tell the
// sides of the other apart: marks and a facing given in words are no more accurate.
const undecided = 20 * Degree

// rule decides the sense of an angle, +1 counter-clockwise from the first line to
// the second or -1, from the marks as given.
type rule func(p *pose) (float64, error)

// parallel reports whether two vectors lie within undecided of one line.
func parallel(a, b Vec) bool {
	return math.Abs(a.Unit().Cross(b.Unit())) < math.Sin(float64(undecided))
}

// chirality returns +1 if the person shown, turned upright, would face right, and -1
// if left: the sign of trunk x chest, with the trunk from shoulder to hip.
func (p *pose) chirality() (float64, error) {
	trunk, marked, err := p.trunk()
	if err != nil {
		return 0, err
	}
	if !marked {
		trunk = Vec{0, 1}
	}
	chest, ok := p.opt.Facing.direction()
	if ok && !parallel(trunk, chest) {
		if !marked {
			p.assume("no trunk marked (hip and shoulder): the body is taken as upright to tell front from back")
		}
		return sign(chest.Cross(trunk)), nil
	}
	e := &OptionError{Measure: p.measure, Option: "facing", Value: string(p.opt.Facing)}
	for _, d := range inPlane {
		if !parallel(trunk, d.to) {
			e.Choices = append(e.Choices, string(d.facing))
		}
	}
	switch {
	case p.opt.Facing == "":
		e.fact = fmt.Sprintf("%s needs facing: which way the chest faces in the picture", p.measure)
	case !ok:
		e.fact = fmt.Sprintf("facing %q does not tell the front of the body from its back for %s, which is read from the side", p.opt.Facing, p.measure)
	case !marked:
		e.fact = fmt.Sprintf("facing %q does not tell the front of the body from its back for %s while no trunk is marked and the body is taken as upright", p.opt.Facing, p.measure)
		e.also = "mark hip and shoulder"
	default:
		e.fact = fmt.Sprintf("facing %q lies within %.0f degrees of the trunk's line, so the front of the body is not decided for %s", p.opt.Facing, undecided.Degrees(), p.measure)
	}
	return 0, e
}

// throughFront counts the angle in the sense in which an arm is raised forwards.
func throughFront(p *pose) (float64, error) { return p.chirality() }

// throughBack counts it in the opposite sense.
func throughBack(p *pose) (float64, error) {
	c, err := p.chirality()
	return -c, err
}

// throughShin counts the angle over the front of the shin if facing is given. If not, it
// takes the smaller angle, except with the toe within undecided of the shin's line: then
// either side can be the front, and facing is needed.
func throughShin(p *pose) (float64, error) {
	if p.opt.Facing != "" {
		return throughBack(p)
	}
	if parallel(p.first, p.second) {
		short := math.Abs(float64(Between(p.first, p.second)))
		return 0, &OptionError{Measure: p.measure, Option: "facing", Choices: []string{string(FacingLeft), string(FacingRight)},
			fact: fmt.Sprintf("%s needs facing: the toe lies within %.0f degrees of the shin's line, so it is %.0f degrees, short of that line, or %.0f, past it",
				p.measure, undecided.Degrees(), Angle(short).Degrees(), 360-Angle(short).Degrees())}
	}
	p.assume("no facing given: the smaller angle is taken, the toe in front of the shin's line")
	return smallerAngle(p)
}

// smallerAngle counts from the first line to the second over the smaller angle.
func smallerAngle(p *pose) (float64, error) {
	if Between(p.first, p.second) < 0 {
		return -1, nil
	}
	return 1, nil
}

// aboveLevel directs the horizontal to the leg's side and counts upwards as positive.
func aboveLevel(p *pose) (float64, error) {
	if p.second.X < 0 {
		p.b.lines[0].Fixed = Vec{-1, 0}
		return -1, nil
	}
	return 1, nil
}

// firstHigher counts the angle between the first leg, mirrored in the vertical, and the
// second as positive where the first leg is the higher one.
func firstHigher(p *pose) (float64, error) {
	// p.first is mirrored: it lies on the second leg's side
	if p.first.X < 0 {
		return 1, nil
	}
	return -1, nil
}

// inwards counts a foot turned towards the other leg as positive: clockwise for a left
// foot seen from the front, either way up.
func inwards(p *pose) (float64, error) {
	seen, ok := p.opt.Facing.toCamera()
	if !ok {
		return 0, &OptionError{Measure: p.measure, Option: "facing", Value: string(p.opt.Facing),
			Choices: []string{string(FacingCamera), string(FacingAway)},
			fact:    fmt.Sprintf("%s needs facing: whether the foot is seen from the front or from behind", p.measure)}
	}
	side := p.opt.Side
	for _, name := range p.b.names[:p.b.n] {
		if s, _, sided := strings.Cut(name, "-"); sided {
			side = Side(s)
		}
	}
	switch side {
	case Left:
		return -seen, nil
	case Right:
		return seen, nil
	}
	return 0, &OptionError{Measure: p.measure, Option: "side", Value: string(side), Choices: []string{string(Left), string(Right)},
		fact: fmt.Sprintf("%s needs the side: whether it is the left foot or the right", p.measure),
		also: "mark left- or right-knee, -ankle and -toe"}
}

// awayFromTrunk counts from the front leg to the back leg over the side on which the
// trunk is not.
func awayFromTrunk(p *pose) (float64, error) {
	trunk, marked, err := p.trunk()
	if err != nil {
		return 0, err
	}
	if !marked {
		trunk = Vec{0, 1}
		p.assume("no shoulder marked: the trunk is taken as upright, and the side below as the one away from it")
	}
	sense := 1.0
	if Between(p.first, trunk).Positive() < Between(p.first, p.second).Positive() {
		sense = -1
	}
	for i, leg := range []Vec{p.first, p.second} {
		if math.Abs(float64(Between(leg, trunk))) >= float64(undecided) {
			continue
		}
		// The leg lies along the trunk, so the marks do not show on which side of it the trunk is: facing decides.
		name := p.b.names[p.b.lines[i].To]
		if p.b.names[p.b.lines[0].To][0] != 'f' { // the legs are not marked as front and back
			return 0, &MarkError{Measure: p.measure, Landmarks: p.b.Landmarks(),
				fact: fmt.Sprintf("the trunk lies within %.0f degrees of the line to %s, and left and right do not say which leg is in front, so the side of %s is not decided", undecided.Degrees(), name, p.measure),
				hint: "mark the legs as front- and back-, and say which way the chest faces"}
		}
		if p.opt.Facing == "" {
			e := p.eitherSide(trunk, name)
			if !marked {
				e.also = "mark the shoulder"
			}
			return 0, e
		}
		c, err := p.chirality()
		return -c, err
	}
	return sense, nil
}

// eitherSide is the error that asks for facing because the leg to the named mark lies
// along the trunk. It states the angle for each facing.
func (p *pose) eitherSide(trunk Vec, name string) *OptionError {
	e := &OptionError{Measure: p.measure, Option: "facing"}
	facings := map[float64][]string{} // by the sense that they give the angle
	for _, d := range inPlane {
		if !parallel(trunk, d.to) {
			e.Choices = append(e.Choices, string(d.facing))
			sense := -sign(d.to.Cross(trunk))
			facings[sense] = append(facings[sense], string(d.facing))
		}
	}
	var angles []string
	for _, sense := range []float64{1, -1} {
		angle := (Angle(sense) * Between(p.first, p.second)).Positive()
		angles = append(angles, fmt.Sprintf("%.0f degrees facing %s", angle.Degrees(), orList(facings[sense])))
	}
	e.fact = fmt.Sprintf("%s needs facing: the trunk lies within %.0f degrees of the line to %s, so it is %s", p.measure, undecided.Degrees(), name, strings.Join(angles, " and "))
	return e
}

// rightToLeft counts from the right leg to the left leg, so that legs apart are
// positive and crossed legs negative: counter-clockwise for a body seen from the
// front, upright or inverted.
func rightToLeft(p *pose) (float64, error) {
	given, isGiven := p.opt.Facing.toCamera()
	seen, by, err := p.seenFromFront()
	switch {
	case err != nil:
		return 0, err
	case isGiven && seen == -given && by == certain:
		return 0, &MarkError{Measure: p.measure, Landmarks: p.b.Landmarks(),
			fact: fmt.Sprintf("facing %q does not fit the marks of %s: left and right lie the other way round", p.opt.Facing, p.measure),
			hint: "exchange left and right, which are the athlete's own, or correct facing"}
	case isGiven:
		return given, nil
	case seen != 0:
		if by == byGravity {
			p.assume("no trunk marked and the legs in one line: the body is taken as upright to tell left from right")
		}
		return seen, nil
	}
	return 0, &OptionError{Measure: p.measure, Option: "facing", Value: string(p.opt.Facing),
		Choices: []string{string(FacingCamera), string(FacingAway)},
		fact:    fmt.Sprintf("%s needs facing: the marks do not show whether the body is seen from the front or from behind, so legs apart cannot be told from crossed", p.measure),
		also:    "mark left-hip and right-hip side by side"}
}

// evidence is how the direction down the body was found.
type evidence int

const (
	certain   evidence = iota // along the trunk, or between legs less than 90 degrees apart
	byLegs                    // between legs farther apart: wrong if the angle is an over-split
	byGravity                 // downwards in the picture, since the legs lie in one line
)

// seenFromFront returns +1 if the body is seen from the front, -1 if from behind and 0
// if the marks do not decide it:
//
//	sign(down x (left - right))
//
// with left and right the two hips, else the two shoulders.
func (p *pose) seenFromFront() (seen float64, by evidence, err error) {
	trunk, marked, err := p.trunk()
	if err != nil {
		return 0, 0, err
	}
	down := trunk.Scale(-1)
	if !marked {
		opening := Angle(math.Abs(float64(Between(p.first, p.second))))
		down = p.first.Unit().Add(p.second.Unit())
		switch {
		case opening > halfTurn-undecided:
			down, by = Vec{0, -1}, byGravity
		case opening > halfTurn/2:
			by = byLegs
		}
	}
	for _, landmark := range []string{"hip", "shoulder"} {
		l, r := Left.prefix()+landmark, Right.prefix()+landmark
		left, ok1 := p.find.at[l]
		right, ok2 := p.find.at[r]
		across := left.Sub(right)
		if !ok1 || !ok2 || !(across.Norm() >= minLength && across.Norm() <= maxLength) || parallel(down, across) {
			continue
		}
		p.decided(l, r)
		return sign(down.Cross(across)), by, nil
	}
	return 0, by, nil
}
