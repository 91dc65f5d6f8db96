package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
	"ecart/vision/pose"
	"ecart/vision/pose/model"
	"ecart/vision/take"
)

// ProposePasses cuts a clip into the passes of its athletes, and proposes in each the marks that q's measure needs at each
// widest moment. progress is called with the part of the work that is done, 0 to 1, and may be nil. ctx ends it at once.
func (d *Desk) ProposePasses(ctx context.Context, t *take.Take, q *Asked, progress func(float64)) ([]Pass, error) {
	return d.proposePasses(ctx, t, q, false, progress)
}

// severalS is the shortest pass, s, that is searched for several leaps of one athlete: two run-ups, and two flights of half a
// second. One leap with its run-up is mostly shorter, and the search for several takes four times as long.
const severalS = 4

// ProposeSeveral is ProposePasses for a clip with several passes, or one that is long enough for several leaps; it returns nil
// for any other. Only passes with marks are returned; without says why the others have none.
func (d *Desk) ProposeSeveral(ctx context.Context, t *take.Take, q *Asked, progress func(float64)) (passes []Pass, without []string, err error) {
	if t.Info().Still {
		return nil, nil, nil
	}
	all, err := d.proposePasses(ctx, t, q, true, progress)
	for _, p := range all {
		if p.Marks != nil {
			passes = append(passes, p)
		} else if !p.Nobody {
			without = append(without, fmt.Sprintf("%.1f to %.1f s: %s", p.FromS, p.ToS, p.WhyNot))
		}
	}
	return passes, without, err
}

func (d *Desk) proposePasses(ctx context.Context, t *take.Take, q *Asked, several bool, progress func(float64)) ([]Pass, error) {
	info := t.Info()
	if info.Still {
		return nil, fault.New(fmt.Sprintf("%q is a still, and has no passes", info.Name), "leave "+fault.Option("passes")+" out")
	}
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
	tell := func(part float64) {
		if progress != nil {
			progress(part)
		}
	}
	d.books.network.Lock()
	defer d.books.network.Unlock()
	cut, standing, err := pose.Passes(ctx, t, func(part float64) { tell(0.1 * part) })
	var e *pose.Error
	if errors.As(err, &e) && e.Problem == pose.NobodyMoves {
		return nil, noPasses(info.Name, err, standing)
	}
	if err != nil {
		return nil, poseFault(info.Name, err, Athlete{})
	}
	if several && !mayBeSeveral(t, cut) {
		return nil, nil
	}
	f := pose.NewFinder(graph)
	defer f.Close()
	var out []Pass
	for i := range cut {
		one, err := d.proposePass(ctx, f, t, q, i+1, &cut[i], func(part float64) { tell(0.1 + 0.9*(float64(i)+part)/float64(len(cut))) })
		if err != nil {
			return nil, err
		}
		out = append(out, one...)
	}
	return out, nil
}

// mayBeSeveral reports whether a clip with these passes may have several moments: two passes with one athlete each, or one that
// is long enough for two leaps.
func mayBeSeveral(t *take.Take, cut []pose.Pass) bool {
	if len(cut) == 1 {
		return (t.TrueTime(cut[0].To) - t.TrueTime(cut[0].From)).Seconds() >= severalS
	}
	alone := slices.DeleteFunc(slices.Clone(cut), func(p pose.Pass) bool { return p.Shared })
	return len(alone) >= 2
}

// proposePass returns the moments of one pass, or the pass with the reason why there are none. The error is that of ctx or of
// the child program.
func (d *Desk) proposePass(ctx context.Context, f *pose.Finder, t *take.Take, q *Asked, number int, c *pose.Pass, progress func(float64)) ([]Pass, error) {
	info := t.Info()
	pass := newPass(t, number, c.From, c.To)
	if c.Shared {
		pass.Notes = append(pass.Notes, SharedWords)
	}
	p := &proposer{q: &q.Request, name: info.Name, size: geometry.Point{X: float64(info.Width), Y: float64(info.Height)}}
	o := pose.Options{Angle: p.angle, From: c.LookFrom, To: c.LookTo, Progress: progress, OwnHips: p.ownHips(), Seen: p.seen}
	if c.Shared {
		o.Athlete, o.AthleteFrame = &c.At, c.AtFrame
	}
	leaps, err := f.Leaps(ctx, t, o, p.scatter)
	var e *pose.Error
	if errors.As(err, &e) {
		pass.Nobody = e.Problem == pose.NoPerson
		pass.fail(passFault(info.Name, e, c))
		return []Pass{pass}, nil
	}
	if err != nil {
		return nil, poseFault(info.Name, err, Athlete{})
	}
	if leaps.Smaller > 0 {
		pass.Notes = append(pass.Notes, smallerWords(leaps.Smaller, leaps.SmallerMost))
	}
	var out []Pass
	for i, found := range leaps.Found {
		one := pass
		one.Leap, one.Leaps = i+1, len(leaps.Found)
		own := *p
		if one.Proposal, err = own.clip(found); err == nil {
			one.Marks = one.Proposal.Marks
			asked := *q
			asked.Request.Marks = one.Marks
			var r *Result
			if r, err = d.Read(ctx, t, &asked); err == nil {
				one.read(r.Reading)
				one.MomentS = &one.Proposal.MomentS
			}
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			one.Leap, one.Marks = 0, nil
			one.fail(err)
		}
		out = append(out, one)
	}
	return out, nil
}

// scatter returns the standard deviation of a proposed angle that comes from its landmarks, degrees, to first order.
func (p *proposer) scatter(b *pose.Body) float64 {
	at := p.places(b)
	if at == nil {
		return 0
	}
	priors := p.q.PriorsUsed()
	share := priors.Segments.Fraction
	stature := b.Length() / (share["hip-shoulder"] + share["hip-ankle"])
	variance, facing := 0.0, p.facing(b)
	for _, l := range p.landmarks(b) {
		sd := priors.Proposal.SDStature[l.kind] * stature
		for _, step := range []geometry.Vec{{X: sd}, {Y: sd}} {
			was := at[l.name]
			at[l.name] = was.Add(step)
			up := p.angleAt(at, facing)
			at[l.name] = was.Add(step.Scale(-1))
			if half := math.Abs(up-p.angleAt(at, facing)) / 2; half < 90 { // else the angle wraps around or is NaN there
				variance += half * half
			}
			at[l.name] = was
		}
	}
	return math.Sqrt(variance)
}

// passFault words why a pass has no moment.
func passFault(name string, e *pose.Error, c *pose.Pass) error {
	byHand := "place the marks by hand on the frame of the widest moment"
	switch e.Problem {
	case pose.NoFall:
		return fault.New("the angle does not fall on both sides by more than its uncertainty: somebody stands, walks, or holds a position", byHand)
	case pose.Half:
		where := "where the athlete comes into the picture or leaves it"
		if c.CutStart {
			where = "where the clip begins"
		} else if c.CutEnd {
			where = "where the clip ends"
		}
		return fault.New("half a pass: the angle is widest "+where+", and the moment may lie outside", "take the clip so that the whole movement is in it")
	case pose.NoPerson:
		return fault.New("something moves, and nobody is seen", byHand)
	}
	return poseFault(name, e, Athlete{})
}
