package desk

import (
	"context"
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/take"
)

// aroundS is how far from the marked frame LookAround looks for the widest moment, seconds: a leap or
// a jump lasts half a second.
const aroundS = 0.5

// LookAround has the pose network look at the frames around the one that was marked, and puts the
// widest moment there into the marks: the reading then says what its frame missed. The marks
// themselves stay as they are. It is an error of a still and of a track, which needs no network.
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
	one := *q // with no marks: those of a person are no proposals
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
