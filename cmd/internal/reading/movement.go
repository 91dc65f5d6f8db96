package reading

import (
	"errors"
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// Movement is what a followed clip adds to the reading of one of its frames.
type Movement struct {
	// OffsetDeg is the peak's angle minus the frame's own. FitSDDeg is the standard
	// uncertainty of the fitted peak from the marks' scatter, which replaces the frame's
	// own placement error. TimingSDDeg is the standard uncertainty from what happens
	// between the frames.
	OffsetDeg, FitSDDeg, TimingSDDeg float64
	VelocityPx                       map[string][2]float64 // of each landmark across the picture, px per second
	// Readout is the direction in the upright picture in which the sensor's rows
	// are read one after the other: (0, 1) downwards; (0, 0) all at once.
	Readout [2]float64
	Unseen  []string // frames in which the angle is not known, in words: what the peak does not include
}

// Series returns a sample for each frame of the track in which all marks were seen: the angle for
// the request's measure and camera, with the standard uncertainty from the marks' scatter. It
// also sets the angle and the total first-order standard uncertainty in each frame of the track,
// NaN if a mark is lost. Frames in which a mark is predicted or on an excursion get an angle but
// no sample.
func Series(q Request, t *Track) ([]Sample, error) {
	var out []Sample
	var last error
	part, doubt := t.parts()
	near := math.NaN()
	for i := range t.Frames {
		f := &t.Frames[i]
		f.AngleDeg, f.SDDeg = math.NaN(), math.NaN()
		m, ok := t.MarksAt(i)
		if !ok {
			continue
		}
		q.Marks = WithStand(m, q.Marks)
		model, _, err := q.prepare()
		if needed := new(geometry.OptionError); errors.As(err, &needed) { // reported, since otherwise this frame alone would have no angle
			return nil, err
		}
		if err != nil {
			last = err
			continue
		}
		g := model.gradient()
		whole := uncertainty.FirstOrder(0, model.blocks, g, 0.95).Standard
		f.AngleDeg, f.SDDeg = model.about.Degrees(), whole
		if !math.IsNaN(near) { // continuous past a full turn, or where Bind chose the other sign
			f.AngleDeg = (geometry.Angle(f.AngleDeg) * geometry.Degree).Near(geometry.Angle(near) * geometry.Degree).Degrees()
		}
		near = f.AngleDeg
		if p := part[i]; p >= 0 {
			out = append(out, Sample{Frame: f.Frame, TimeS: f.TimeS, AngleDeg: f.AngleDeg, SDDeg: model.scatter(g), Part: p, Doubt: doubt[p]})
		}
	}
	if len(out) == 0 && last != nil {
		return nil, last
	}
	return out, nil
}

// WithStand copies the level, the corners and the facing given with the request to the marks of a
// frame. A facing in m is kept.
func WithStand(m, given *Marks) *Marks {
	if given != nil {
		m.Level, m.Plane = given.Level, given.Plane
		if m.Facing == "" {
			m.Facing = given.Facing
		}
	}
	return m
}

// scatter is the standard uncertainty from the placement of the marks alone.
func (m *model) scatter(g []float64) float64 {
	var u2 float64
	at := 0
	for i := range m.blocks {
		b := &m.blocks[i]
		n := b.Dim()
		if b.Source == SourcePlacement {
			one := uncertainty.FirstOrder(0, []uncertainty.Block{*b}, g[at:at+n], 0.95)
			u2 += one.Standard * one.Standard
		}
		at += n
	}
	return math.Sqrt(u2)
}

// Peak finds the peak of the samples that [Series] returned for the track: see [FindPeak].
func (t *Track) Peak(s []Sample, smallest bool) (Peak, error) {
	if t.Still() {
		return Peak{}, fault.New(fmt.Sprintf("nothing moves in frames %d to %d: no mark moves by more than its uncertainty, so there is no peak", t.Frames[0].Frame, t.Frames[len(t.Frames)-1].Frame),
			"read one frame as a still: "+fault.Option("at")+" N")
	}
	p, err := FindPeak(s, smallest)
	p.Gaps, p.Jumps = append([]Gap{}, t.Gaps()...), append([]Jump{}, t.Jumps()...)
	return p, err
}

// PeakRequest returns the request that reads the peak of a track: it reads the frame nearest to
// the peak and adds the offset that the fit finds. q.Marks may have level, corners and facing.
// The request reads the peak again without the track.
func PeakRequest(q Request, t *Track, readout [2]float64) (Request, Peak, error) {
	s, err := Series(q, t)
	if err != nil {
		return q, Peak{}, err
	}
	p, err := t.Peak(s, q.Skill != nil && q.Skill.AtMost)
	if err != nil {
		return q, Peak{}, t.becauseDamaged(err)
	}
	q.Take.Damaged = t.Damaged()
	part, _ := t.parts()
	i, _ := t.At(p.Frame)
	m, _ := t.MarksAt(i)
	q.Marks = WithStand(m, q.Marks)
	q.Take.Frame, q.Take.TimeS = p.Frame, t.Frames[i].TimeS
	q.Movement = &Movement{OffsetDeg: p.AngleDeg - t.Frames[i].AngleDeg, FitSDDeg: p.FitSDDeg, TimingSDDeg: p.TimingSDDeg,
		VelocityPx: t.VelocityPx(i), Readout: readout, Unseen: t.unseen(part)}
	return q, p, nil
}

// ReadPeak reads the peak of a track: see [PeakRequest].
func ReadPeak(q Request, t *Track, readout [2]float64) (*Reading, Peak, error) {
	q, p, err := PeakRequest(q, t, readout)
	if err != nil {
		return nil, p, err
	}
	r, err := Read(q)
	if err != nil {
		return nil, p, err
	}
	r.Peak = &p
	return r, p, nil
}

// addMovement adds the three inputs of a movement, from index at: the offset of the fitted peak,
// degrees, which replaces the frame's placement error; the timing between frames, degrees; and
// the sensor's readout time, seconds.
func (m *model) addMovement(v *Movement, p *Priors, at int) {
	if v == nil {
		return
	}
	m.movement = v
	for i := range m.names {
		place := &m.blocks[perMark*i]
		*place = uncertainty.Fixed(SourcePlacement, place.Mean)
	}
	m.peakAt = at
	m.blocks = append(m.blocks,
		uncertainty.NewScalar(SourcePlacement, v.OffsetDeg, v.FitSDDeg),
		uncertainty.NewScalar(SourceTiming, 0, v.TimingSDDeg),
		uncertainty.NewUniform(SourceTiming, p.Timing.ReadoutFromS, p.Timing.ReadoutToS))
	m.how[SourcePlacement] = "the marks of the frames about the peak"
	m.how[SourceTiming] = fmt.Sprintf("between frames, and rows read within %g to %g ms", 1000*p.Timing.ReadoutFromS, 1000*p.Timing.ReadoutToS)
	along := geometry.Vec{X: v.Readout[0], Y: v.Readout[1]}
	length := math.Abs(along.X)*float64(m.size[0]) + math.Abs(along.Y)*float64(m.size[1])
	if length == 0 {
		return
	}
	var centre geometry.Point
	for i := range m.names {
		centre.X += m.mean[i].X / float64(len(m.names))
		centre.Y += m.mean[i].Y / float64(len(m.names))
	}
	for i, n := range m.names {
		vel := v.VelocityPx[n]
		// fraction of the readout time by which this mark's row is read after the marks' centre
		late := m.mean[i].Sub(centre).Dot(along) / length
		m.skew[i] = geometry.Vec{X: -vel[0] * late, Y: -vel[1] * late}
	}
}
