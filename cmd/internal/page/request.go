package page

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// request is the reading that the work on a frame asks for. It is put together
// as the command line does with the same marks and setup, so that the same
// Reading comes of it.
//
// Where nothing is marked on the frame by hand and stickers were followed through
// it, their marks are read, and along is the track.
func (s *Server) request(ctx context.Context, id string, work *Work, frame int) (q reading.Request, along *track, err error) {
	q = reading.Request{
		Marks: work.marks(frame), Camera: work.Camera, StatureMm: work.StatureCm * 10, DistanceM: work.DistanceM, FocalMm: work.FocalMm,
		Options:    geometry.Options{Leg: geometry.Leg(work.Leg), Side: geometry.Side(work.Side), Facing: geometry.Facing(work.Facing)},
		Confidence: 0.95, Seed: 1,
	}
	name := work.Measure
	if work.Skill != "" {
		skill, err := s.config.Skills.Find(work.Skill)
		if err != nil {
			return q, nil, err
		}
		q.Skill = &skill
		name = cmp.Or(name, skill.Measure)
	}
	m, ok := geometry.Lookup(name)
	if !ok {
		return q, nil, refuse(http.StatusUnprocessableEntity, "neither a skill nor a measure was chosen", "choose what is to be read")
	}
	q.Measure = m
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return q, nil, err
	}
	defer done()
	a, err := s.store.about(id)
	if err != nil {
		return q, nil, err
	}
	i := t.Info()
	if frame < 0 || frame >= i.Frames {
		return q, nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q has no frame %d: it has %d", a.Name, frame, i.Frames), "choose another moment")
	}
	q.Still = i.Still
	if f := i.FocalLength35; q.FocalMm == 0 && f >= 8 && f <= 1000 { // a still that says something else says nothing
		q.FocalMm = f
	}
	q.Take = reading.Take{Name: a.Name, SHA256: id, Frame: frame, TimeS: t.Time(frame).Seconds(), WidthPx: i.Width, HeightPx: i.Height}
	if !work.byHand(frame) {
		along, err = s.followed(&q, i.Readout)
	}
	if p := work.Frames[frame]; err == nil && p != nil && p.BeyondDeg != 0 {
		a, err := reading.Quick(q) // whose error comes again when it is read
		q.Beyond = err == nil && math.Abs(a-p.BeyondDeg) <= sameAngle
	}
	return q, along, err
}

// track is what was followed through a clip, with the direction in which the
// sensor's rows were read.
type track struct {
	*reading.Track
	readout [2]float64
}

// followed puts the marks of the stickers into a request for a frame without
// marks of its own. It returns the track they are of, nil where there is none.
func (s *Server) followed(q *reading.Request, readout [2]float64) (*track, error) {
	t, err := s.follows.track(q.Take.SHA256)
	if err != nil || t == nil {
		return nil, err
	}
	i, ok := t.At(q.Take.Frame)
	if !ok {
		return nil, nil
	}
	m, ok := t.MarksAt(i)
	if !ok {
		return nil, nil
	}
	m.Facing, m.Level, m.Plane = q.Marks.Facing, q.Marks.Level, q.Marks.Plane
	q.Marks = m
	return &track{t, readout}, nil
}
