package pose

import (
	"cmp"
	"context"
	"math"
	"slices"

	"ecart/geometry/uncertainty"
	"ecart/vision/take"
)

// coverage is the probability of the interval within which a fall between two angles counts as explained by their
// uncertainty.
const coverage = 0.95

// Leaps is the result of a search in one pass.
type Leaps struct {
	Found []*Found // one for each leap, in order of time, with the moments of its part of the pass
	// Smaller is the number of other peaks of the angle, and SmallerMost the widest angle of these, degrees.
	Smaller     int
	SmallerMost float64
}

// Leaps searches the frames of a pass (Options.From, To) for leaps: peaks about as wide as the widest
// (uncertainty.AsWide), from which the angle falls on both sides by more than its uncertainty explains. sd returns the
// standard deviation of a body's angle, degrees. The errors are those of Clip, and
//
//   - Half, where the angle is still wider at an end of the pass;
//   - NoFall, where it falls nowhere by as much.
func (f *Finder) Leaps(ctx context.Context, t *take.Take, o Options, sd func(*Body) float64) (*Leaps, error) {
	all, err := f.lookCoarsely(ctx, t, o)
	if err != nil {
		return nil, err
	}
	known := slices.DeleteFunc(slices.Clone(all.Moments), func(m Moment) bool {
		return m.Body == nil || m.support < supported || math.IsNaN(o.Angle(m.Body))
	})
	if len(known) == 0 {
		return nil, &Error{Problem: NoPeak}
	}
	var angles, deviations []float64
	for _, m := range known {
		angles, deviations = append(angles, o.Angle(m.Body)), append(deviations, sd(m.Body))
	}
	peaks, atEnds := uncertainty.Peaks(angles, deviations, coverage)
	peaks = uncertainty.Apart(angles, peaks, uncertainty.AsWide)
	if len(peaks) == 0 {
		if math.IsInf(atEnds, -1) {
			return nil, &Error{Problem: NoFall}
		}
		return nil, &Error{Problem: Half}
	}
	slices.SortStableFunc(peaks, func(a, b uncertainty.Peak) int { return cmp.Compare(angles[b.Top], angles[a.Top]) }) // the widest first
	type leap struct {
		found *Found
		angle float64
	}
	var seen []leap
	widest := math.Inf(-1)
	out := &Leaps{}
	for i, p := range peaks {
		if angles[p.Top] < uncertainty.AsWide*widest {
			out.countSmaller(angles[p.Top])
			continue
		}
		part := &Found{Still: all.Still, ground: all.ground, ownHips: all.ownHips}
		own := o
		own.From, own.To = known[p.From].Frame, known[p.To].Frame
		for _, m := range all.Moments {
			if m.Frame >= own.From && m.Frame <= own.To {
				part.Moments = append(part.Moments, m)
			}
		}
		own.Progress = func(v float64) { o.report(0.75 + 0.25*(float64(i)+(v-0.75)/0.25)/float64(len(peaks))) }
		if err := f.findPeak(ctx, t, part, own); err != nil {
			return nil, err
		}
		angle := o.Angle(part.Peak.Body)
		if math.IsNaN(angle) {
			angle = o.Angle(part.Peak.Network)
		}
		seen = append(seen, leap{part, angle})
		widest = math.Max(widest, angle)
	}
	if atEnds > widest {
		return nil, &Error{Problem: Half}
	}
	for _, l := range seen {
		if l.angle < uncertainty.AsWide*widest {
			out.countSmaller(l.angle)
			continue
		}
		out.Found = append(out.Found, l.found)
	}
	slices.SortFunc(out.Found, func(a, b *Found) int { return a.Peak.Frame - b.Peak.Frame })
	return out, nil
}

func (l *Leaps) countSmaller(angle float64) {
	l.Smaller++
	l.SmallerMost = math.Max(l.SmallerMost, angle)
}
