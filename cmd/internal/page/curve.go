package page

import (
	"fmt"
	"html"
	"math"
	"net/http"
	"strings"

	"ecart/cmd/internal/reading"
)

// curve is the angle along a clip that was followed.
type curve struct {
	SVG  string   `json:"svg"`  // as wide as the strip
	Runs [][2]int `json:"runs"` // the frames with an angle, from and to
	High string   `json:"high"` // the figures at its upper and its lower edge
	Low  string   `json:"low"`
	Peak int      `json:"peak"` // the frame nearest to it, -1 where there is none
	Says string   `json:"says"`

	Landmarks []string `json:"landmarks"` // that were followed
}

const (
	curveWide = 1000
	curveTall = 84
)

// curve sends the curve of what was followed for the measure and setup of the
// work; 204 where nothing was followed.
func (s *Server) curve(w http.ResponseWriter, r *http.Request) {
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
	answer(w, http.StatusOK, curveOf(own, samples, q, t.Info().Frames))
}

// copied is a track of its own: Series writes into the one it is given.
func copied(t *reading.Track) *reading.Track {
	out := *t
	out.Frames = append([]reading.TrackFrame(nil), t.Frames...)
	return &out
}

// smallest says whether less is better: where a skill asks for at most so much.
func smallest(q reading.Request) bool { return q.Skill != nil && q.Skill.AtMost }

func curveOf(t *reading.Track, samples []reading.Sample, q reading.Request, frames int) curve {
	c := curve{Peak: -1, Runs: [][2]int{}, Landmarks: t.Landmarks}
	low, high := math.Inf(1), math.Inf(-1)
	for _, f := range t.Frames {
		if !math.IsNaN(f.AngleDeg) {
			u := 2 * f.SDDeg
			low, high = min(low, f.AngleDeg-u), max(high, f.AngleDeg+u)
			if n := len(c.Runs); n > 0 && c.Runs[n-1][1] == f.Frame-1 {
				c.Runs[n-1][1] = f.Frame
			} else {
				c.Runs = append(c.Runs, [2]int{f.Frame, f.Frame})
			}
		}
	}
	if len(c.Runs) == 0 {
		return c
	}
	if q.Skill != nil && q.Skill.AskedDeg < high+60 && q.Skill.AskedDeg > low-60 {
		low, high = min(low, q.Skill.AskedDeg-2), max(high, q.Skill.AskedDeg+2)
	}
	c.Low, c.High = minus(fmt.Sprintf("%.0f°", low)), minus(fmt.Sprintf("%.0f°", high))
	x := func(frame int) float64 { return curveWide * float64(frame) / float64(max(1, frames-1)) }
	y := func(deg float64) float64 { return curveTall * (high - deg) / max(high-low, 1e-9) }
	var b strings.Builder
	peak, err := t.Peak(samples, smallest(q))
	if err == nil {
		c.Peak = peak.Frame
		c.Says = fmt.Sprintf("the peak is %.1f degrees at %.3f s, frame %d", peak.AngleDeg, peak.TimeS, peak.Frame)
	} else {
		c.Says = "no peak: " + err.Error()
	}
	for _, j := range peak.Jumps {
		c.Says += "; " + j.String()
	}
	if len(peak.Gaps) > 0 {
		c.Says += "; a sticker is not seen in frames " + reading.Frames(peak.Gaps)
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" preserveAspectRatio="none" class="along" role="img" aria-label="%s">`,
		curveWide, curveTall, html.EscapeString("the angle along the clip; "+c.Says))
	for _, run := range c.Runs {
		var upper, lower, mid []string
		for _, f := range t.Frames {
			if f.Frame < run[0] || f.Frame > run[1] || math.IsNaN(f.AngleDeg) {
				continue
			}
			upper = append(upper, fmt.Sprintf("%.1f %.2f", x(f.Frame), y(f.AngleDeg+2*f.SDDeg)))
			lower = append([]string{fmt.Sprintf("%.1f %.2f", x(f.Frame), y(f.AngleDeg-2*f.SDDeg))}, lower...)
			mid = append(mid, fmt.Sprintf("%.1f %.2f", x(f.Frame), y(f.AngleDeg)))
		}
		fmt.Fprintf(&b, `<path class="spread" d="M%sZ"/><path class="angle" vector-effect="non-scaling-stroke" d="M%s"/>`,
			strings.Join(append(upper, lower...), "L"), strings.Join(mid, "L"))
	}
	if q.Skill != nil {
		fmt.Fprintf(&b, `<path class="asked-line" vector-effect="non-scaling-stroke" d="M0 %.2fH%d"/>`, y(q.Skill.AskedDeg), curveWide)
	}
	if c.Peak >= 0 {
		fmt.Fprintf(&b, `<path class="top" vector-effect="non-scaling-stroke" d="M%.1f 0V%d"/>`, x(c.Peak), curveTall)
	}
	b.WriteString(`</svg>`)
	c.SVG = b.String()
	return c
}
