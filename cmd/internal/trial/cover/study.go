package main

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// row is one population of takes: a measure, a set-up and what the reading is given.
type row struct {
	measure geometry.Measure
	class   class
	lens    bool // with a lens file
	given   given
}

// outcome is the result of reading one take; angles are in degrees.
type outcome struct {
	truth, estimate float64 // truth within half a turn of the estimate
	interval        [2]float64
	first           [2]float64 // the first-order interval
	distance        float64    // m
	redrawn         int        // takes discarded before it
	refused         error
}

// place returns where the truth is: -1 below the interval, 0 in it, 1 above it.
func (o *outcome) place(interval [2]float64) int {
	switch {
	case o.truth < interval[0]:
		return -1
	case o.truth > interval[1]:
		return 1
	}
	return 0
}

// run reads n takes of a row, one on each core at a time. The same seed gives the
// same takes whatever the number of cores. step is called after each take, from
// several goroutines.
func (r row) run(n int, seed uint64, priors *reading.Priors, step func()) []outcome {
	h := fnv.New64a()
	fmt.Fprint(h, r.measure.Name, "/", r.class.name, "/", r.lens, "/", r.given.name)
	out := make([]outcome, n)
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				d := dice{rand.New(rand.NewPCG(seed^h.Sum64(), uint64(i)))}
				out[i] = read(d.take(r, priors))
				step()
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

func read(t take) outcome {
	if t.apart {
		return readApart(t)
	}
	d, f, err := reading.Study(t.request)
	o := outcome{distance: t.distance, redrawn: t.redrawn, refused: err}
	if err != nil {
		return o
	}
	o.estimate, o.interval, o.first = d.Mean, [2]float64{d.Low, d.High}, f.IntervalDeg
	o.truth = o.estimate + circularDifference(t.truth, o.estimate)
	return o
}

// readApart reads how far the ankles are apart, in hundredths of a shoulder width. It has no first order.
func readApart(t take) outcome {
	d, err := reading.StudyApart(t.request)
	o := outcome{distance: t.distance, redrawn: t.redrawn, refused: err, truth: t.truth, estimate: 100 * d.Mean}
	o.interval = [2]float64{100 * d.Low, 100 * d.High}
	o.first = o.interval
	return o
}

// summary is the result of a row, or of a part of one. Shares are of the takes
// that were read.
type summary struct {
	Measure  string  `json:"measure"`
	Camera   string  `json:"camera"`
	Lens     bool    `json:"lens_file"`
	Told     string  `json:"told,omitempty"`
	Part     string  `json:"part,omitempty"` // of the row
	Takes    int     `json:"takes"`
	Refused  int     `json:"refused"`
	Again    int     `json:"drawn_again"` // takes discarded because something to mark was outside the picture
	Held     float64 `json:"held"`
	Below    float64 `json:"truth_below"` // the interval
	Above    float64 `json:"truth_above"`
	Width    float64 `json:"mean_width_deg"`
	Narrow   float64 `json:"narrowest_width_deg"`
	Ratio    float64 `json:"ratio"`
	Bias     float64 `json:"mean_error_deg"` // truth less estimate
	First    float64 `json:"first_order_held"`
	Within   bool    `json:"within"` // the goals of a row
	Why      string  `json:"why,omitempty"`
	firstErr error
}

// The goals of a row.
const (
	coverage         = 0.95
	minHeld, maxHeld = 0.935, 0.965
	widest           = 1.25
)

func (r row) summarise(all []outcome) summary {
	s := summary{Measure: r.measure.Name, Camera: r.class.name, Lens: r.lens, Told: r.given.name, Takes: len(all)}
	var errors []float64
	for i := range all {
		o := &all[i]
		s.Again += o.redrawn
		if o.refused != nil {
			s.Refused++
			s.firstErr = o.refused
			continue
		}
		errors = append(errors, o.truth-o.estimate)
		s.Bias += o.truth - o.estimate
		s.Width += o.interval[1] - o.interval[0]
		switch o.place(o.interval) {
		case -1:
			s.Below++
		case 0:
			s.Held++
		case 1:
			s.Above++
		}
		if o.place(o.first) == 0 {
			s.First++
		}
	}
	if n := float64(len(errors)); n > 0 {
		for _, v := range []*float64{&s.Bias, &s.Width, &s.Below, &s.Above, &s.Held, &s.First} {
			*v /= n
		}
		s.Narrow = narrowest(errors, coverage)
		s.Ratio = s.Width / s.Narrow
	}
	s.Within = s.Held >= minHeld && s.Held <= maxHeld && s.Ratio <= widest
	s.Why = s.why()
	return s
}

// narrowest returns the width of the narrowest interval that holds a share of the
// values. There must be at least one value.
func narrowest(v []float64, share float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	k := int(math.Ceil(share * float64(len(v))))
	best := math.Inf(1)
	for i := 0; i+k <= len(v); i++ {
		best = math.Min(best, v[i+k-1]-v[i])
	}
	return best
}

// thirds splits a row by the true angle and by the camera's distance.
func (r row) thirds(all []outcome) []summary {
	p := plans[r.measure.Name]
	var out []summary
	part := func(unit string, low, high float64, of func(*outcome) float64) {
		for k := range 3 {
			a, b := low+float64(k)*(high-low)/3, low+float64(k+1)*(high-low)/3
			var in []outcome
			for i := range all {
				if o := &all[i]; o.refused == nil && of(o) >= a && of(o) < b {
					in = append(in, *o)
				}
			}
			s := r.summarise(in)
			s.Part, s.Why = fmt.Sprintf("%.0f to %.0f %s", a, b, unit), ""
			if unit == "m" {
				s.Part = fmt.Sprintf("%.1f to %.1f m", a, b)
			}
			out = append(out, s)
		}
	}
	part("deg", p.low, p.high, func(o *outcome) float64 { return o.truth })
	part("m", nearest, farthest, func(o *outcome) float64 { return o.distance })
	return out
}
