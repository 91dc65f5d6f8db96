package desk

import (
	"context"
	"errors"
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/pose"
	"ecart/vision/pose/model"
	"ecart/vision/see"
	"ecart/vision/take"
)

// Proposal is what is proposed from a picture: marks on one frame, and in a clip the moment.
type Proposal struct {
	Marks *reading.Marks
	// Network has the marks of a clip without the outlines of legs; nil if
	// some lie outside the picture.
	Network *reading.Marks
	// MomentS is the widest moment of a clip, seconds of true time from the first frame,
	// and MomentSDS its standard deviation; both are 0 for a still.
	MomentS, MomentSDS float64
	Outlines           int // legs whose axis comes from their outline
	Curve              []ProposedAngle
	Looks              int // runs of the network
}

// ProposedAngle is an angle of a clip's curve; NaN if it is not known.
type ProposedAngle struct {
	Frame           int
	TimeS, AngleDeg float64
}

// Track returns the curve as a track without landmarks, to be drawn. Each angle has the
// uncertainty of r, the reading from the proposals.
func (p *Proposal) Track(r *reading.Reading) *reading.Track {
	t := &reading.Track{}
	for _, c := range p.Curve {
		t.Frames = append(t.Frames, reading.TrackFrame{Frame: c.Frame, TimeS: c.TimeS, AngleDeg: c.AngleDeg, SDDeg: r.StandardUncertaintyDeg})
	}
	return t
}

// Faces returns an error if the measure needs the way the chest faces, and neither q nor the picture gives it.
func (p *Proposal) Faces(q *Asked) error {
	r := &q.Request
	if !r.Measure.Facing || r.Options.Facing != "" || p.Marks.Facing != "" {
		return nil
	}
	return fault.New(fmt.Sprintf("the picture does not show whether the chest faces left or right, which %s needs", r.Measure.Title),
		"give "+fault.Option("facing")+" left or right; where the athlete faces the camera or away from it, take the clip from the side")
}

// Athlete is a place on the person meant; the zero value means whoever moves most.
type Athlete struct {
	At    geometry.Point
	Frame int
	Given bool
}

// ParseAthlete parses 812,344 or 812,344@20, a place in pixels and its frame; "" is the zero
// value.
func ParseAthlete(s string) (a Athlete, err error) {
	if s == "" {
		return a, nil
	}
	var ok bool
	if a.At, a.Frame, ok = parsePlace(s); !ok {
		return a, fault.New(fmt.Sprintf("%s %q is no place", fault.Option("athlete-at"), s), "write it as 812,344 or 812,344@20: a place on the athlete, in pixels, and the frame")
	}
	a.Given = true
	return a, nil
}

// CanPropose returns the error why no marks can be proposed on this machine, nil if the network's file is there. Whether
// it is the right file is checked when it is used.
func CanPropose() error {
	folder, err := DataFolder("")
	if err != nil {
		return err
	}
	return model.There(model.Path(folder))
}

// Meant is the error if two people are seen in a take and it is not known who is meant.
type Meant struct {
	Frame int // in which both are seen
	words *fault.Error
}

func (m *Meant) Error() string { return m.words.Error() }

// Hint says what to do next.
func (m *Meant) Hint() string { return m.words.Hint() }

// Unwrap returns the error with its options marked.
func (m *Meant) Unwrap() error { return m.words }

// Propose proposes the marks that q's measure needs. progress is called with the part of the
// work that is done, 0 to 1, and may be nil. ctx ends it at once.
func (d *Desk) Propose(ctx context.Context, t *take.Take, q *Asked, a Athlete, progress func(float64)) (*Proposal, error) {
	return d.ProposeIn(ctx, t, q, a, 0, 0, progress)
}

// ProposeIn is Propose for the frames of a clip between from and to, both included; if to is 0, to the last one.
func (d *Desk) ProposeIn(ctx context.Context, t *take.Take, q *Asked, a Athlete, from, to int, progress func(float64)) (*Proposal, error) {
	if needsRibs(q.Request.Measure) {
		return nil, ribsFault(q.Request.Measure)
	}
	folder, err := DataFolder("")
	if err != nil {
		return nil, err
	}
	graph, err := model.Load(model.Path(folder))
	if err != nil {
		return nil, err
	}
	info := t.Info()
	if a.Given && (a.Frame >= info.Frames || a.At.X > float64(info.Width) || a.At.Y > float64(info.Height)) {
		return nil, fault.New(fmt.Sprintf("%s %g,%g@%d is not in %q: it has %d frames of %d x %d pixels", fault.Option("athlete-at"), a.At.X, a.At.Y, a.Frame, info.Name, info.Frames, info.Width, info.Height), "give a place on the athlete")
	}
	d.books.network.Lock() // it takes a quarter of a gigabyte, so that one runs at a time
	defer d.books.network.Unlock()
	f := pose.NewFinder(graph)
	defer f.Close()
	p := proposer{q: &q.Request, name: info.Name, size: geometry.Point{X: float64(info.Width), Y: float64(info.Height)}}
	o := pose.Options{Angle: p.angle, From: from, To: to, Progress: progress, OwnHips: p.ownHips(), Seen: p.seen}
	if a.Given {
		o.Athlete, o.AthleteFrame = &a.At, a.Frame
	}
	if info.Still {
		frame, err := t.Frame(ctx, 0)
		if err != nil {
			return nil, err
		}
		b, err := f.Still(ctx, frame, o)
		if err != nil {
			return nil, poseFault(info.Name, err, a)
		}
		return p.still(b)
	}
	found, err := f.Clip(ctx, t, o)
	if err != nil {
		return nil, poseFault(info.Name, err, a)
	}
	out, err := p.clip(found)
	if out != nil {
		out.Looks = f.Looks()
	}
	return out, err
}

func ribsFault(m geometry.Measure) error {
	return fault.New("the pose network does not know where the ribs end, which "+m.Title+" needs", "place the marks by hand")
}

// poseFault words why nothing can be proposed.
func poseFault(name string, err error, a Athlete) error {
	byHand := "place the marks by hand"
	var e *pose.Error
	if !errors.As(err, &e) {
		if errors.Is(err, see.ErrStopped) {
			return fault.Failed(fmt.Sprintf("the program that runs the pose network, ecart-see, gave no answer for %q", name), "try again; where that does not help, build it anew with 'make build', or "+byHand, err)
		}
		return err
	}
	switch e.Problem {
	case pose.TwoPeople:
		at := fault.Option("athlete-at")
		return &Meant{e.Frame, fault.New(fmt.Sprintf("two people are seen in frame %d of %q: about %s and %s", e.Frame, name, placeWords(e.At[0]), placeWords(e.At[1])),
			fmt.Sprintf("say who is meant with %s %s@%d", at, placeWords(e.At[0]), e.Frame))}
	case pose.Unsure:
		return fault.New(fmt.Sprintf("something is seen in %q, but it is not certain that it is a person whose whole body is in the picture", name),
			"point at the athlete with "+fault.Option("athlete-at")+" X,Y@FRAME; take the picture so that all of the body is in it; or "+byHand)
	case pose.TooLong:
		return fault.New(fmt.Sprintf("%q is longer than the half a minute that is looked through for one moment, or the five minutes for passes", name),
			"cut the clip to the skill, give "+fault.Option("passes")+" if several athletes pass or one leaps again and again, or "+byHand)
	case pose.CameraMoves:
		return fault.New(fmt.Sprintf("the camera moves in %q: passes are told from a hall that stands still", name), "take the clip from a tripod, or cut it into its passes")
	case pose.NoPeak:
		return fault.New(fmt.Sprintf("somebody is seen in %q, but in no frame with all that the angle needs", name), "take the clip so that head, hands and feet stay in the picture, or "+byHand)
	}
	if a.Given {
		return fault.New(fmt.Sprintf("nobody is seen about %s in frame %d of %q", placeWords(a.At), a.Frame, name), "point at the middle of the athlete's body, or "+byHand)
	}
	return fault.New(fmt.Sprintf("nobody is seen in %q", name), "point at the athlete with "+fault.Option("athlete-at")+" X,Y@FRAME, or "+byHand)
}

func placeWords(p geometry.Point) string { return fmt.Sprintf("%.0f,%.0f", p.X, p.Y) }

// aroundS is how far from the marked frame LookAround looks for the widest moment, seconds: a leap or
// a jump lasts half a second.
const aroundS = 0.5

// LookAround runs the pose network on the frames around the one that was marked, and puts the widest
// moment there into the marks. The reading then says what its frame missed. The marks themselves stay
// as they are. For a still, and for a track, which needs no network, it is an error.
func (d *Desk) LookAround(ctx context.Context, t *take.Take, q *Asked, progress func(float64)) error {
	info := t.Info()
	switch {
	case info.Still:
		return fault.New(fmt.Sprintf("%s looks at the frames around, and %q is a still", fault.Option("around"), info.Name), "leave it out")
	case q.Track != nil:
		return fault.New(fmt.Sprintf("%s asks the pose network, and a track says by itself what a frame missed", fault.Option("around")), "leave it out")
	}
	n, _, err := frameAsked(t, q.At, q.Request.Marks.Frame)
	if err != nil {
		return err
	}
	from, to := n, n
	for from > 0 && (t.TrueTime(n)-t.TrueTime(from-1)).Seconds() <= aroundS {
		from--
	}
	for to < info.Frames-1 && (t.TrueTime(to+1)-t.TrueTime(n)).Seconds() <= aroundS {
		to++
	}
	one := *q // without the marks of a person
	one.Request.Marks = &reading.Marks{Schema: reading.MarksSchema}
	if one.Request.Options.Facing == "" {
		one.Request.Options.Facing = geometry.Facing(q.Request.Marks.Facing)
	}
	a := Athlete{Frame: n, Given: true}
	for _, m := range q.Request.Marks.Marks { // the middle of the marks lies on the athlete
		a.At.X += m.X / float64(len(q.Request.Marks.Marks))
		a.At.Y += m.Y / float64(len(q.Request.Marks.Marks))
	}
	p, err := d.ProposeIn(ctx, t, &one, a, from, max(1, to), progress)
	if err != nil {
		return err
	}
	w := p.Marks.Widest
	if w == nil || math.Abs(w.Frame-float64(n)) > w.Reach {
		d.opt.Note(fmt.Sprintf("the frames around frame %d do not show how fast the angle falls there: what it missed is as usual", n))
		return nil
	}
	marks := *q.Request.Marks
	marks.Widest = w
	q.Request.Marks, q.Sources.Marks = &marks, nil
	return nil
}
