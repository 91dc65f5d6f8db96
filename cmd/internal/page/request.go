package page

import (
	"context"
	"fmt"
	"math"
	"net/http"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// request is the reading that the work on a frame asks for. It is put together
// as the command line does with the same marks and setup, so that the same
// Reading comes of it.
//
// Where nothing is marked on the frame by hand and stickers were followed through
// it, their marks are read, and along is the track.
func (s *Server) request(ctx context.Context, id string, work *Work, frame int) (*desk.Asked, error) {
	q := &desk.Asked{Request: reading.Request{
		Marks: work.marks(frame), Camera: work.Camera, ObliqueDeg: work.ObliqueDeg, StatureMm: work.StatureCm * 10, DistanceM: work.DistanceM, FocalMm: work.FocalMm,
		Options:    geometry.Options{Leg: geometry.Leg(work.Leg), Side: geometry.Side(work.Side), Facing: geometry.Facing(work.Facing)},
		Confidence: 0.95, Seed: 1,
	}}
	if work.Confidence != 0 {
		q.Request.Confidence = work.Confidence
	}
	if work.Lens != "" {
		data, name, err := s.lenses.file(work.Lens)
		if err != nil {
			return nil, err
		}
		q.Sources.Lens = data
		if q.Request.Lens, err = desk.ParseLens(name, data); err != nil {
			return nil, err
		}
	}
	if work.Skill == "" && !desk.IsMeasure(work.Measure) {
		return nil, refuse(http.StatusUnprocessableEntity, "neither a skill nor a measure was chosen", "choose what is to be read")
	}
	if err := s.config.Desk.Target(&q.Request, work.Skill, work.Measure); err != nil {
		return nil, err
	}
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return nil, err
	}
	defer done()
	a, err := s.store.About(id)
	if err != nil {
		return nil, err
	}
	i := t.Info()
	if frame < 0 || frame >= i.Frames {
		return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q has no frame %d: it has %d", a.Name, frame, i.Frames), "choose another moment")
	}
	i.Name = a.Name
	q.Describe(i, id)
	if !work.byHand(frame) {
		if q.Track, err = s.followed(id, frame); err != nil {
			return nil, err
		}
	}
	if err := q.SetMarks(frame, t.Time(frame)); err != nil {
		return nil, err
	}
	if p := work.Frames[frame]; p != nil && p.BeyondDeg != 0 {
		a, err := reading.Quick(q.Request) // whose error comes again when it is read
		q.Request.Beyond = err == nil && math.Abs(a-p.BeyondDeg) <= sameAngle
	}
	return q, nil
}

// followed is the track of a clip, a copy, if all of its stickers are seen in a frame, else
// nil.
func (s *Server) followed(id string, frame int) (*reading.Track, error) {
	t, err := s.follows.track(id)
	if err != nil || t == nil {
		return nil, err
	}
	i, ok := t.At(frame)
	if !ok {
		return nil, nil
	}
	if _, ok := t.MarksAt(i); !ok {
		return nil, nil
	}
	return copied(t), nil
}
