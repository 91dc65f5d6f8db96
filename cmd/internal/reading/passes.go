package reading

import (
	"math"
	"slices"

	"ecart/geometry/uncertainty"
)

// passGapS is the time without any mark after which a pass has ended, s: a turning body hides all of its stickers for
// less.
const passGapS = 0.25

// Passes cuts a track where all marks are lost and found again: one track for each stretch in which any mark is seen.
func (t *Track) Passes() (out []*Track) {
	from, last := -1, -1
	for i := range t.Frames {
		if !slices.ContainsFunc(t.Frames[i].Marks, func(m Tracked) bool { return m.Seen == Found }) {
			continue
		}
		if from >= 0 && t.Frames[i].TimeS-t.Frames[last].TimeS > passGapS {
			out = append(out, t.slice(from, last))
			from = i
		}
		if from < 0 {
			from = i
		}
		last = i
	}
	if from >= 0 {
		out = append(out, t.slice(from, last))
	}
	return out
}

// slice returns the track between two indices, both included.
func (t *Track) slice(from, to int) *Track {
	return &Track{Landmarks: t.Landmarks, Facing: t.Facing, Frames: slices.Clone(t.Frames[from : to+1])}
}

// Leaps cuts the track of one pass into one track for each leap, at the smallest angles between leaps. A leap is a peak from
// which the angle falls on both sides by more than its uncertainty, and which has at least uncertainty.AsWide of the widest
// angle. If smallest, the same holds for 180 degrees minus the angle. smaller is the number of other peaks and most the widest
// of these, degrees. With fewer than two leaps the track stays whole.
func (t *Track) Leaps(q Request, smallest bool) (out []*Track, smaller int, most float64, err error) {
	samples, err := Series(q, t)
	if err != nil {
		return nil, 0, 0, err
	}
	var values, sd []float64
	for _, s := range samples {
		v := s.AngleDeg
		if smallest {
			v = 180 - v
		}
		values, sd = append(values, v), append(sd, s.SDDeg)
	}
	wide, smaller, most := leaps(values, sd, uncertainty.AsWide)
	if smallest {
		most = 180 - most
	}
	if len(wide) < 2 {
		return []*Track{t}, smaller, most, nil
	}
	begin := 0
	for k, p := range wide {
		end := len(t.Frames) - 1
		if k+1 < len(wide) {
			// the lowest sample between this peak and the next one
			low := p.Top
			for i := p.Top; i <= wide[k+1].Top; i++ {
				if values[i] < values[low] {
					low = i
				}
			}
			end, _ = t.At(samples[low].Frame)
		}
		out = append(out, t.slice(begin, end))
		begin = end
	}
	return out, smaller, most, nil
}

// leaps returns the peaks of angles that have at least a share of the widest, the number of the others, and the widest of
// these.
func leaps(angles, sd []float64, share float64) (wide []uncertainty.Peak, smaller int, most float64) {
	// all pairs of hundreds of frames are compared, so that a pair may be wrong in one of a million cases only
	peaks, _ := uncertainty.Peaks(angles, sd, 1-1e-6)
	peaks = uncertainty.Apart(angles, peaks, share)
	widest := 0.0
	for _, p := range peaks {
		widest = math.Max(widest, angles[p.Top])
	}
	for _, p := range peaks {
		if angles[p.Top] >= share*widest {
			wide = append(wide, p)
			continue
		}
		smaller++
		most = math.Max(most, angles[p.Top])
	}
	return wide, smaller, most
}
