package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// RepeatSchema names the version of the JSON of a Repeat.
const RepeatSchema = "ecart/repeat/1"

// Repeat is how well marks on frames were repeated. It is written as JSON too. Pixels are those
// of pictures whose longer side is LongSidePx.
type Repeat struct {
	Schema        string                `json:"schema"`
	Measure       string                `json:"measure,omitempty"`
	Frames        int                   `json:"frames"`
	Markings      int                   `json:"markings"`
	LongSidePx    int                   `json:"long_side_px"`
	Raters        []RaterFigure         `json:"raters"`
	Placement     *change.Placement     `json:"placement,omitempty"`     // nil: nobody marked a frame twice
	Repeatability *change.Repeatability `json:"repeatability,omitempty"` // nil: no measure was named
	Agreements    []MarkedTwice         `json:"agreements"`
	Kept          []string              `json:"kept"` // raters whose figure was put into the journal
	Notes         []string              `json:"notes"`
}

// RaterFigure is how well a rater repeats a point and the angle; nil if the rater
// marked no frame twice.
type RaterFigure struct {
	Name        string         `json:"name"`
	PlacementPx *change.Spread `json:"placement_px,omitempty"` // of one point, each axis
	Angle       *change.Error  `json:"angle,omitempty"`
}

// MarkedTwice is how two raters agree, or the first and second marks of one rater.
type MarkedTwice struct {
	First  string `json:"first"`
	Second string `json:"second"`
	*change.Agreement
}

// RepeatAsk is the input of Repeat.
type RepeatAsk struct {
	Files   []string          // a list that ends in .csv, or a take and its marks files
	Rater   string            // who marked; if given, only that rater's lines of a list count
	Measure *geometry.Measure // nil for pixels alone
	Options geometry.Options
}

// Repeat computes how well marks on frames were repeated.
func (d *Desk) Repeat(ctx context.Context, a RepeatAsk) (*Repeat, error) {
	d.opt.Doing("looking at the takes")
	ms, err := d.markings(ctx, a)
	d.opt.Doing("")
	if err != nil {
		return nil, err
	}
	r, err := repeatOf(ms, a.Measure, a.Options)
	return r, Optioned(err)
}

// RepeatOf is Repeat for one frame whose marks have several placements.
func (d *Desk) RepeatOf(a RepeatAsk, t reading.Take, m *reading.Marks) (*Repeat, error) {
	r, err := repeatOf([]marking{{a.Rater, "the marks of " + t.Name, t, m}}, a.Measure, a.Options)
	return r, Optioned(err)
}

// Keepable reports whether there is a rater whose figure can be kept.
func (r *Repeat) Keepable() bool {
	return slices.ContainsFunc(r.Raters, func(f RaterFigure) bool { return f.PlacementPx != nil && f.PlacementPx.Freedom >= leastFreedom })
}

// Says returns a sentence for each rater on how well they place a point.
func (r *Repeat) Says() []string {
	var out []string
	for _, f := range r.Raters {
		if s := f.PlacementPx; s != nil {
			out = append(out, fmt.Sprintf("%s places a point to %.2g px each way (95 %% sure: between %.2g and %.2g)", f.Name, s.SD, s.Interval[0], s.Interval[1]))
		}
	}
	return out
}

// KeepRaters puts the raters' figures into the journal. before is called once there are figures to
// keep and the journal is open.
func (d *Desk) KeepRaters(ctx context.Context, r *Repeat, before func() error) error {
	keep, err := toKeep(r, d.Now().Format(time.DateOnly))
	if err != nil {
		return err
	}
	return d.InJournal(journal.Options{Create: true}, func(j *journal.Journal) error {
		if err := before(); err != nil {
			return err
		}
		for _, k := range keep {
			if err := j.KeepRater(ctx, k); err != nil {
				return err
			}
			r.Kept = append(r.Kept, k.Name)
		}
		return nil
	})
}

// repeatOf computes a Repeat; measure may be nil.
func repeatOf(ms []marking, measure *geometry.Measure, opt geometry.Options) (*Repeat, error) {
	if err := notCopied(ms); err != nil {
		return nil, err
	}
	r := &Repeat{Schema: RepeatSchema, LongSidePx: longSide(ms), Agreements: []MarkedTwice{}, Kept: []string{}, Notes: []string{}}
	var placed []change.Placed
	frames, raters := map[string]bool{}, []string{}
	for i := range ms {
		m := &ms[i]
		frames[m.frame()] = true
		if !slices.Contains(raters, m.rater) {
			raters = append(raters, m.rater)
		}
		// a person points at a screen: pictures of all sizes are taken as shown equally large
		f := float64(r.LongSidePx) / float64(max(m.take.WidthPx, m.take.HeightPx))
		if f != 1 && !slices.Contains(r.Notes, noteScaled(r.LongSidePx)) {
			r.Notes = append(r.Notes, noteScaled(r.LongSidePx))
		}
		for _, p := range m.marks.Marks {
			placed = append(placed, change.Placed{Rater: m.rater, Frame: m.frame(), Landmark: p.Landmark, X: f * p.X, Y: f * p.Y})
		}
	}
	slices.Sort(raters)
	r.Frames = len(frames)
	var err error
	if r.Placement, err = change.NewPlacement(placed); err != nil {
		if len(raters) == 1 || measure == nil {
			return nil, err
		}
		r.Notes = append(r.Notes, err.Error())
	}
	var angles []change.Repeat
	for i := range ms {
		as, err := anglesOf(&ms[i], measure, opt)
		if err != nil {
			return nil, fmt.Errorf("%q: %w", ms[i].file, err)
		}
		angles = append(angles, as...)
		r.Markings += max(1, len(placements(ms[i].marks)))
	}
	if measure != nil {
		r.Measure = measure.Name
		if r.Repeatability, err = change.NewRepeatability(angles); err != nil {
			return nil, err
		}
		r.Agreements = append(r.Agreements, agreements(angles, raters)...)
	}
	for _, name := range raters {
		r.Raters = append(r.Raters, r.figureOf(name, angles))
	}
	r.Notes = append(r.Notes, noteSitting)
	return r, nil
}

// notCopied refuses two markings of a frame that are the same to the last digit: nobody
// places all points twice on the same spots.
func notCopied(ms []marking) error {
	seen := map[string]string{}
	for i := range ms {
		key := ms[i].frame()
		for _, p := range ms[i].marks.Marks {
			key += fmt.Sprintf("\x00%s %v %v", p.Landmark, p.X, p.Y)
		}
		if first, ok := seen[key]; ok {
			return copied(first, ms[i].file)
		}
		seen[key] = ms[i].file
	}
	return nil
}

// longSide returns the most common longer side of the pictures, px; of equally common ones the largest.
func longSide(ms []marking) int {
	n := map[int]int{}
	best := 0
	for i := range ms {
		s := max(ms[i].take.WidthPx, ms[i].take.HeightPx)
		n[s]++
	}
	for s := range n {
		if n[s] > n[best] || n[s] == n[best] && s > best {
			best = s
		}
	}
	return best
}

// placements splits marks in which every landmark was placed equally often into one set
// for each round of placing; otherwise it returns the marks as one set.
func placements(m *reading.Marks) []*reading.Marks {
	seen := map[string]int{} // number of placements of each landmark so far
	var out []*reading.Marks
	for _, p := range m.Marks {
		k := seen[p.Landmark]
		if seen[p.Landmark]++; k == len(out) {
			one := *m
			one.Marks = nil
			out = append(out, &one)
		}
		out[k].Marks = append(out[k].Marks, p)
	}
	for _, n := range seen {
		if n != len(out) {
			return []*reading.Marks{m}
		}
	}
	return out
}

// anglesOf returns the angles that a marking gives; none without a measure.
func anglesOf(m *marking, measure *geometry.Measure, opt geometry.Options) (out []change.Repeat, err error) {
	if measure == nil {
		return nil, nil
	}
	for _, one := range placements(m.marks) {
		deg, err := reading.Quick(reading.Request{Take: m.take, Marks: one, Measure: *measure, Options: opt})
		if err != nil {
			return nil, err
		}
		out = append(out, change.Repeat{Frame: m.frame(), Rater: m.rater, AngleDeg: deg})
	}
	return out, nil
}

func (r *Repeat) figureOf(name string, angles []change.Repeat) RaterFigure {
	f := RaterFigure{Name: name}
	if r.Placement != nil {
		if s, ok := r.Placement.ByRater[name]; ok {
			f.PlacementPx = &s
		}
	}
	own := slices.DeleteFunc(slices.Clone(angles), func(a change.Repeat) bool { return a.Rater != name })
	if len(own) > 0 {
		if one, err := change.NewRepeatability(own); err == nil {
			f.Angle = one.Within
		}
	}
	return f
}

// agreements returns the agreement of every two raters, and then of each rater's first
// marks with the second ones, if there are frames enough.
func agreements(angles []change.Repeat, raters []string) (out []MarkedTwice) {
	by := map[[2]string][]float64{} // by frame and rater
	var frames []string
	for _, a := range angles {
		key := [2]string{a.Frame, a.Rater}
		by[key] = append(by[key], a.AngleDeg)
		if !slices.Contains(frames, a.Frame) {
			frames = append(frames, a.Frame)
		}
	}
	add := func(first, second string, pair func(frame string) (a, b float64, ok bool)) {
		var one, two []float64
		for _, f := range frames {
			if a, b, ok := pair(f); ok {
				one, two = append(one, a), append(two, b)
			}
		}
		if a, err := change.NewAgreement(one, two); err == nil {
			out = append(out, MarkedTwice{first, second, a})
		}
	}
	for i, a := range raters {
		for _, b := range raters[i+1:] {
			add(a, b, func(f string) (float64, float64, bool) {
				x, y := by[[2]string{f, a}], by[[2]string{f, b}]
				return mean(x), mean(y), len(x) > 0 && len(y) > 0
			})
		}
	}
	for _, a := range raters {
		add(fmt.Sprintf(wordsFirst, a), fmt.Sprintf(wordsSecond, a), func(f string) (float64, float64, bool) {
			if x := by[[2]string{f, a}]; len(x) > 1 {
				return x[0], x[1], true
			}
			return 0, 0, false
		})
	}
	return out
}

func mean(v []float64) (out float64) {
	for _, x := range v {
		out += x / float64(len(v))
	}
	return out
}

// toKeep returns the raters' figures as the journal keeps them.
func toKeep(r *Repeat, day string) (out []journal.Rater, err error) {
	for _, f := range r.Raters {
		if f.PlacementPx == nil || f.PlacementPx.Freedom < leastFreedom {
			r.Notes = append(r.Notes, noteNotKept(f.Name))
			continue
		}
		details, err := json.Marshal(struct {
			Schema   string        `json:"schema"`
			Measure  string        `json:"measure,omitempty"`
			Frames   int           `json:"frames"`
			Interval [2]float64    `json:"sd_interval_px"`
			Angle    *change.Error `json:"angle,omitempty"`
		}{RepeatSchema, r.Measure, r.Frames, f.PlacementPx.Interval, f.Angle})
		if err != nil {
			return nil, err
		}
		out = append(out, journal.Rater{Name: f.Name, Day: day, SDPx: f.PlacementPx.SD, Freedom: f.PlacementPx.Freedom, LongSidePx: r.LongSidePx, Details: details})
	}
	if len(out) == 0 {
		return nil, nothingToKeep()
	}
	return out, nil
}
