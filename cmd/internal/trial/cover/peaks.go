package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
	"ecart/vision/sticker"
	recorded "ecart/vision/take"
)

// peakOutcome is the result for one clip; angles are in degrees.
type peakOutcome struct {
	err         float64 // the peak as found less that of the dots' centres in the picture
	sd          float64 // its standard uncertainty: of the fit and of the time between frames
	late        float64 // error of the moment, s
	held, whole bool    // whether the intervals of the peak itself and of the reading hold the truth
	refused     error
}

// peakDots are the dots, in the order of dotPaths.
var peakDots = [3]string{"hip", "front-ankle", "back-ankle"}

// leapPaths draws a random leap, body and camera until the dots stay in the picture around the peak.
func (d dice) leapPaths() (w *dotPaths, times []float64, truth float64) {
	for range 1000 {
		body := d.athlete()
		motion := scene.Leap{Peak: d.uniform(110, 190) * degree, PeakAt: d.uniform(0.49, 0.62), TakeOff: 0.38, Flight: d.uniform(0.54, 0.62)}.Motion(body)
		joints := func(t float64) float64 { return body.Joints(motion.At(t)).Angles()["hip-split"] }
		peak, angle := maximum(joints, 0.5, 0.95)
		hip, _ := body.Joints(motion.At(peak)).At("hip")
		camera, distance := d.lookAt(hip.Add(scene.Vec{Y: -0.36})) // the legs hang below
		first := peak - (aboutPeak+d.Float64())/paintRate          // the peak is anywhere between frames
		w = &dotPaths{from: first - 4*pathStep}
		var missed [3]scene.Vec
		for k, name := range []string{"hip", "ankle", "ankle"} {
			w.radius[k] = dotRadius * camera.Focal / distance
			missed[k] = scene.Vec{X: d.normal(0, found[name]/1000), Y: d.normal(0, found[name]/1000)}
		}
		leave, _ := body.Joints(motion.At(peak - 0.05)).At("hip")
		arrive, _ := body.Joints(motion.At(peak + 0.05)).At("hip")
		w.pan = (arrive.X - leave.X) / 0.1 * camera.Focal / distance
		const half = 2 * (2*aboutPeak + 2)
		s := &scene.Scene{Body: body, Motion: later{motion, w.from}, Camera: camera, Hall: scene.PlainHall(), FPS: 2 * paintRate, Frames: half + 10, Measure: "hip-split"}
		inside := true
		for i := range s.Frames {
			t := s.Truth(i)
			for k, name := range peakDots {
				m, ok := t.Mark(name)
				if !ok {
					panic("no landmark " + name)
				}
				at := scene.Vec{X: m.Skin[0] + missed[k].X, Y: m.Skin[1] + missed[k].Y, Z: m.Skin[2]}
				x, y, _ := camera.Project(at)
				x -= w.pan * (w.from + s.Time(i) - peak)
				edge := 2 * w.radius[k]
				inside = inside && x > edge && y > edge && x < paintW-edge && y < paintH-edge
				w.places[k] = append(w.places[k], [2]float64{x, y})
			}
		}
		if inside {
			for i := range 2*aboutPeak + 1 {
				times = append(times, first+float64(i)/paintRate)
			}
			return w, times, angle
		}
	}
	panic("no leap stays in the picture")
}

// later is a motion that starts at another time.
type later struct {
	scene.Motion
	by float64
}

func (l later) At(t float64) scene.Pose { return l.Motion.At(t + l.by) }

// peak paints one clip, follows its dots, and reads the peak.
func (d dice) peak(ctx context.Context, path string, priors *reading.Priors) (o peakOutcome) {
	w, times, angle := d.leapPaths()
	if err := w.record(ctx, d, path, times); err != nil {
		return peakOutcome{refused: err}
	}
	defer os.Remove(path)
	middle := len(times) / 2
	var from []sticker.Seed
	for k, name := range peakDots {
		x, y := w.at(k, times[middle])
		from = append(from, sticker.Seed{Name: name, Frame: middle, At: geometry.Point{X: math.Round(d.normal(x, pointError)), Y: math.Round(d.normal(y, pointError))}})
	}
	t, err := recorded.Open(ctx, path)
	if err != nil {
		return peakOutcome{refused: err}
	}
	defer t.Close()
	track := &reading.Track{Facing: "right", Landmarks: peakDots[:]}
	states := map[sticker.State]reading.Seen{sticker.Seen: reading.Found, sticker.Predicted: reading.Predicted, sticker.Lost: reading.Lost}
	err = sticker.Follow(ctx, sticker.Of(t), from, sticker.Options{}, func(f sticker.Frame) error {
		row := reading.TrackFrame{Frame: f.Index, TimeS: f.TrueTime.Seconds(), AngleDeg: math.NaN(), SDDeg: math.NaN()}
		for _, m := range f.Marks {
			row.Marks = append(row.Marks, reading.Tracked{X: m.At.X, Y: m.At.Y, Covariance: m.Cov, Seen: states[m.Seen]})
		}
		track.Frames = append(track.Frames, row)
		return nil
	})
	if err != nil {
		return peakOutcome{refused: err}
	}
	measure, _ := geometry.Lookup("hip-split")
	q := reading.Request{Take: reading.Take{Name: "painted", WidthPx: paintW, HeightPx: paintH}, Marks: &reading.Marks{Schema: reading.MarksSchema, Facing: "right"},
		Measure: measure, Priors: priors, Camera: "by-eye", MaxDraws: draws, Seed: d.Uint64()}
	r, _, err := reading.ReadPeak(q, track, [2]float64{0, 1})
	if err != nil {
		return peakOutcome{refused: err}
	}
	p, err := reading.FindPeak(pictureAngles(track), false)
	if err != nil {
		return peakOutcome{refused: err}
	}
	at, shown := maximum(w.opening, times[1], times[len(times)-2])
	o.err, o.sd, o.late = p.AngleDeg-shown, math.Hypot(p.FitSDDeg, p.TimingSDDeg), p.TimeS-(at-times[0])
	const k95 = 1.959964 // the normal distribution's 97.5 % point
	o.held = math.Abs(o.err) <= k95*o.sd
	truth := r.AngleDeg + circularDifference(angle, r.AngleDeg)
	o.whole = truth >= r.IntervalDeg[0] && truth <= r.IntervalDeg[1]
	return o
}

// pictureAngles returns the angles in the picture, calculated independently of the readings' code:
// at the first dot, from the second to the third through the lower side, with the uncertainty from
// the covariances of the three (first order).
func pictureAngles(t *reading.Track) (out []reading.Sample) {
	for _, f := range t.Frames {
		h, a, b := f.Marks[0], f.Marks[1], f.Marks[2]
		if h.Seen != reading.Found || a.Seen != reading.Found || b.Seen != reading.Found {
			continue
		}
		turn := func(m reading.Tracked) (angle float64, g [2]float64) {
			x, y := m.X-h.X, m.Y-h.Y
			return math.Atan2(y, x), [2]float64{-y / (x*x + y*y), x / (x*x + y*y)}
		}
		from, ga := turn(a)
		to, gb := turn(b)
		gh := [2]float64{ga[0] - gb[0], ga[1] - gb[1]}
		v := 0.0
		for _, m := range []struct {
			g [2]float64
			c [2][2]float64
		}{{gh, h.Covariance}, {ga, a.Covariance}, {gb, b.Covariance}} {
			v += m.g[0]*m.g[0]*m.c[0][0] + 2*m.g[0]*m.g[1]*m.c[0][1] + m.g[1]*m.g[1]*m.c[1][1]
		}
		out = append(out, reading.Sample{Frame: f.Frame, TimeS: f.TimeS, AngleDeg: math.Mod((to-from)/degree+720, 360), SDDeg: math.Sqrt(v) / degree})
	}
	return out
}

// peakStudy has the counts over all clips.
type peakStudy struct {
	Clips   int     `json:"clips"`
	Seed    uint64  `json:"seed"`
	Refused int     `json:"refused"`
	Held    float64 `json:"held"`          // share of the peak's own intervals that hold the dots' peak
	Whole   float64 `json:"whole_held"`    // share of the readings' intervals that hold the body's
	RMS     float64 `json:"rms_deg"`       // of the peak angle
	Stated  float64 `json:"stated_deg"`    // root mean square of the stated uncertainty
	LateRMS float64 `json:"time_rms_s"`    // of the moment
	Within  bool    `json:"within"`        // Held is between minHeld and maxHeld
	Why     string  `json:"why,omitempty"` // the first refusal
}

// peaks reads the peaks of n clips, one on each core at a time.
func peaks(ctx context.Context, n int, seed uint64, step func(string)) (peakStudy, error) {
	folder, err := os.MkdirTemp("", "ecart-cover-")
	if err != nil {
		return peakStudy{}, err
	}
	defer os.RemoveAll(folder)
	priors := reading.DefaultPriors()
	out := make([]peakOutcome, n)
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				d := dice{rand.New(rand.NewPCG(seed^0x9ea4, uint64(i)))}
				out[i] = d.peak(ctx, filepath.Join(folder, fmt.Sprint(i, ".mp4")), priors)
				step(fmt.Sprintf("peak %d of %d", i+1, n))
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return sumPeaks(out, seed), ctx.Err()
}

func sumPeaks(out []peakOutcome, seed uint64) peakStudy {
	s := peakStudy{Clips: len(out), Seed: seed}
	read := 0.0
	for _, o := range out {
		if o.refused != nil {
			s.Refused++
			if s.Why == "" {
				s.Why = o.refused.Error()
			}
			continue
		}
		read++
		s.RMS += o.err * o.err
		s.Stated += o.sd * o.sd
		s.LateRMS += o.late * o.late
		if o.held {
			s.Held++
		}
		if o.whole {
			s.Whole++
		}
	}
	s.Held, s.Whole = s.Held/read, s.Whole/read
	s.RMS, s.Stated, s.LateRMS = math.Sqrt(s.RMS/read), math.Sqrt(s.Stated/read), math.Sqrt(s.LateRMS/read)
	s.Within = s.Held >= minHeld && s.Held <= maxHeld
	return s
}
