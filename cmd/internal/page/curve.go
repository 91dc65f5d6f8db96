package page

import (
	"fmt"
	"math"
	"net/http"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// curve is the angle along a clip that was followed.
type curve struct {
	SVG  string   `json:"svg"`  // as wide as the strip
	Runs [][2]int `json:"runs"` // the frames with an angle, from and to
	Peak int      `json:"peak"` // the frame nearest to it, -1 where there is none
	Says string   `json:"says"`

	Landmarks []string `json:"landmarks"` // that were followed
}

const (
	curveWide = 1000 // pixels, where the page does not say
	curveTall = 96   // pixels
	curveText = 13   // pixels
)

// curve sends the curve of what was followed for the measure and setup of the
// work; 204 where nothing was followed.
func (s *Server) curve(w http.ResponseWriter, r *http.Request) {
	wide := curveWide
	var err error
	if r.URL.Query().Has("wide") {
		wide, err = number(r, "wide", 100, 10_000)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	asked, err := s.asked(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	q := asked.Request
	track, err := s.follows.track(q.Take.SHA256)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if track == nil {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	own := copied(track)
	samples, err := reading.Series(q, own)
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	t, done, err := s.pool.borrow(r.Context(), q.Take.SHA256)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	defer done()
	answer(w, http.StatusOK, curveOf(own, samples, q, t.Info().Frames, float64(wide)))
}

// copied is a track of its own: Series writes into the one it is given.
func copied(t *reading.Track) *reading.Track {
	out := *t
	out.Frames = append([]reading.TrackFrame(nil), t.Frames...)
	return &out
}

// smallest says whether less is better: where a skill asks for at most so much.
func smallest(q reading.Request) bool { return q.Skill != nil && q.Skill.AtMost }

func curveOf(t *reading.Track, samples []reading.Sample, q reading.Request, frames int, wide float64) curve {
	c := curve{Peak: -1, Runs: [][2]int{}, Landmarks: t.Landmarks}
	low, high := math.Inf(1), math.Inf(-1)
	var known [][]reading.TrackFrame // of each run
	for _, f := range t.Frames {
		if math.IsNaN(f.AngleDeg) {
			continue
		}
		u := 2 * f.SDDeg
		low, high = min(low, f.AngleDeg-u), max(high, f.AngleDeg+u)
		if n := len(c.Runs); n > 0 && c.Runs[n-1][1] == f.Frame-1 {
			c.Runs[n-1][1] = f.Frame
			known[n-1] = append(known[n-1], f)
		} else {
			c.Runs = append(c.Runs, [2]int{f.Frame, f.Frame})
			known = append(known, []reading.TrackFrame{f})
		}
	}
	if len(c.Runs) == 0 {
		return c
	}
	peak, err := t.Peak(samples, smallest(q))
	if err == nil {
		c.Peak = peak.Frame
		// Its angle is the reading's to say: the reading allows for the camera as a whole, the curve to first order.
		c.Says = fmt.Sprintf("the peak is at %.3f s; frame %d is the nearest", peak.TimeS, peak.Frame)
	} else {
		c.Says = "no peak: " + err.Error()
	}
	for _, j := range peak.Jumps {
		c.Says += "; " + j.String()
	}
	if len(peak.Gaps) > 0 {
		c.Says += "; a sticker is not seen in frames " + reading.Frames(peak.Gaps)
	}
	const near = 60 // degrees, beyond which what is asked would flatten the curve
	asked := q.Skill != nil && q.Skill.AskedDeg < high+near && q.Skill.AskedDeg > low-near
	if asked {
		low, high = min(low, q.Skill.AskedDeg), max(high, q.Skill.AskedDeg)
	}
	p := newCurvePlot(low, high, frames, wide)
	p.axis(q.Measure.Title, asked && p.lower(q.Skill.AskedDeg))
	for _, run := range known {
		p.run(run)
	}
	if asked {
		p.asked(q.Skill.AskedDeg, q.Skill.AtMost)
	}
	if c.Peak >= 0 {
		x := p.x(c.Peak)
		p.Line(draw.Pen{Colour: draw.Ink, Width: 1, Dash: []float64{1, 3}}, draw.Point{X: x}, draw.Point{X: x, Y: curveTall})
	}
	c.SVG = p.SVG("the angle along the clip", c.Says, 0)
	return c
}
