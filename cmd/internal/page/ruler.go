package page

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"

	"ecart/cmd/internal/reading"
)

// The ruler's measures, in its own units; it is scaled to where it stands.
const (
	rulerWide   = 400
	rulerPad    = 6
	rulerText   = 15
	overText    = 20 // for the word at the notch
	curveHigh   = 46
	bandHigh    = 20
	mostHatches = 5
)

// ruler is the ruler being drawn: degrees along a line, a notch for what is
// asked, the bands hatched (denser is dearer), the reading as a density with its
// interval as a bar.
type ruler struct {
	strings.Builder
	r        *reading.Reading
	from, to float64 // degrees at the ends
	y0, y1   float64 // of the bands
}

// rulerOf draws the ruler of r as SVG. Its colours are the style sheet's.
func rulerOf(r *reading.Reading) string {
	k := &ruler{r: r}
	k.span()
	k.y0 = overText + curveHigh
	k.y1 = k.y0 + bandHigh
	if r.Verdict == nil {
		k.y1 = k.y0
	}
	k.add(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %.0f" class="ruler" role="img" aria-label="%s">`, rulerWide, k.y1+30, html.EscapeString(k.said()))
	k.bands()
	k.density()
	k.scale()
	k.notch()
	k.add(`</svg>`)
	return k.String()
}

func (k *ruler) add(format string, a ...any) { fmt.Fprintf(k, format, a...) }

func (k *ruler) x(deg float64) float64 {
	return rulerPad + (rulerWide-2*rulerPad)*(deg-k.from)/(k.to-k.from)
}

// span chooses the ends: room for the interval with as much on either side, for
// what is asked and for the edges of bands near them.
func (k *ruler) span() {
	r := k.r
	lo, hi := r.IntervalDeg[0], r.IntervalDeg[1]
	width := max(hi-lo, 2)
	k.from, k.to = lo-0.6*width, hi+0.6*width
	for _, e := range k.edges() {
		if e > lo-2.5*width-10 && e < hi+2.5*width+10 || r.Skill != nil && math.Abs(e) == r.Skill.ThresholdDeg && e*r.AngleDeg >= 0 {
			k.from, k.to = min(k.from, e-0.3*width), max(k.to, e+0.3*width)
		}
	}
}

// edges are the angles at which bands end, and what is asked.
func (k *ruler) edges() []float64 {
	r := k.r
	if r.Verdict == nil || r.Skill == nil {
		return nil
	}
	var out []float64
	at := func(short float64) {
		if math.IsInf(short, 0) {
			return
		}
		out = append(out, r.Skill.AnglesAt(short)...)
	}
	at(0)
	for _, b := range r.Verdict.Bands {
		at(b.FromDeg)
		if b.ToDeg != nil {
			at(*b.ToDeg)
		}
	}
	return out
}

func (k *ruler) bands() {
	r := k.r
	if r.Verdict == nil || r.Skill == nil {
		return
	}
	zone := func(from, to float64, rank int) {
		from, to = max(from, k.from), min(to, k.to)
		if from >= to {
			return
		}
		fill := `class="zone met"`
		if rank > 0 {
			fill = fmt.Sprintf(`class="zone" fill="url(#band-%d)"`, min(rank, mostHatches))
		}
		k.add(`<rect %s x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, fill, k.x(from), k.y0, k.x(to)-k.x(from), k.y1-k.y0)
	}
	place := func(from, to float64, rank int) { // degrees short
		switch {
		case !r.Skill.AtMost:
			zone(r.Skill.ThresholdDeg-to, r.Skill.ThresholdDeg-from, rank)
		case r.Skill.OneWay:
			zone(r.Skill.ThresholdDeg+from, r.Skill.ThresholdDeg+to, rank)
		case rank == 0:
			zone(-r.Skill.ThresholdDeg-to, r.Skill.ThresholdDeg+to, rank)
		default:
			zone(r.Skill.ThresholdDeg+from, r.Skill.ThresholdDeg+to, rank)
			zone(-r.Skill.ThresholdDeg-to, -r.Skill.ThresholdDeg-from, rank)
		}
	}
	inf := math.Inf(1)
	first := inf
	if len(r.Verdict.Bands) > 0 {
		first = r.Verdict.Bands[0].FromDeg
	}
	place(-inf, first, 0)
	for i, b := range r.Verdict.Bands {
		to := inf
		if b.ToDeg != nil {
			to = *b.ToDeg
		}
		place(b.FromDeg, to, i+1)
	}
}

// density draws the distribution, the interval below it and the value in it.
func (k *ruler) density() {
	r, d := k.r, k.r.Density
	values := smoothed(d.Values)
	peak := 0.0
	for _, v := range values {
		peak = max(peak, v)
	}
	high := func(v float64) float64 { return k.y0 - curveHigh*v/peak }
	if peak > 0 {
		var b strings.Builder
		begun, last := false, 0.0
		for i, v := range values {
			at := d.FromDeg + (float64(i)+0.5)*d.StepDeg
			if at < k.from || at > k.to {
				continue
			}
			if !begun {
				fmt.Fprintf(&b, "M%.1f %.1f", k.x(at), k.y0)
				begun = true
			}
			fmt.Fprintf(&b, " L%.1f %.1f", k.x(at), high(v))
			last = at
		}
		k.add(`<path class="density" d="%s L%.1f %.1fZ"/>`, b.String(), k.x(last), k.y0)
	}
	lo, hi := max(r.IntervalDeg[0], k.from), min(r.IntervalDeg[1], k.to)
	k.add(`<rect class="bar" x="%.1f" y="%.1f" width="%.1f" height="4"/>`, k.x(lo), k.y0-5, k.x(hi)-k.x(lo))
	k.add(`<path class="value" d="M%.1f %.1f V%.1f"/>`, k.x(r.AngleDeg), k.y1, k.y0-curveHigh)
}

// smoothed averages each value with its neighbours, twice.
func smoothed(v []float64) []float64 {
	for range 2 {
		out := make([]float64, len(v))
		for i := range v {
			out[i] = (v[max(i-1, 0)] + 2*v[i] + v[min(i+1, len(v)-1)]) / 4
		}
		v = out
	}
	return v
}

// scale draws the line, its ticks and the figures under it.
func (k *ruler) scale() {
	k.add(`<path class="line" d="M%d %.1f H%d"/>`, rulerPad, k.y1, rulerWide-rulerPad)
	width := k.to - k.from
	step := 1.0
	for _, s := range []float64{1, 2, 5, 10, 20, 45, 90} {
		if step = s; width/s <= 7 {
			break
		}
	}
	var taken []float64
	put := func(deg float64, class string) {
		x := k.x(deg)
		for _, o := range taken {
			if math.Abs(o-x) < 40 {
				return
			}
		}
		if x < 14 || x > rulerWide-14 {
			return
		}
		taken = append(taken, x)
		k.add(`<path class="line" d="M%.1f %.1f v6"/><text class="%s" x="%.1f" y="%.1f" font-size="%d" text-anchor="middle">%s</text>`,
			x, k.y1, class, x, k.y1+22, rulerText, minus(strconv.FormatFloat(deg+0, 'f', -1, 64)))
	}
	for _, e := range k.edges() {
		if e >= k.from && e <= k.to {
			put(e, "edge")
		}
	}
	for d := math.Ceil(k.from/step) * step; d <= k.to; d += step {
		put(d, "degree")
	}
}

func (k *ruler) notch() {
	r := k.r
	if r.Skill == nil {
		return
	}
	ask := r.AngleAt(0)
	if ask < k.from || ask > k.to {
		return
	}
	word := "asked " + strconv.FormatFloat(r.Skill.ThresholdDeg, 'f', -1, 64) + "°"
	if r.Skill.AtMost && r.Skill.ThresholdDeg > 0 {
		word = "at most " + strconv.FormatFloat(r.Skill.ThresholdDeg, 'f', -1, 64) + "°"
	}
	x, half := k.x(ask), 4.2*float64(len([]rune(word)))
	k.add(`<path class="notch" d="M%.1f %d V%.1f"/><text class="edge" x="%.1f" y="%d" font-size="%d" text-anchor="middle">%s</text>`,
		x, overText, k.y1+6, min(max(x, half), rulerWide-half), rulerText, rulerText, html.EscapeString(word))
}

// said is the ruler in words, for those who do not see it.
func (k *ruler) said() string {
	r := k.r
	s := fmt.Sprintf("ruler: the reading is %.1f degrees, between %.1f and %.1f", r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1])
	if r.Skill != nil {
		s += fmt.Sprintf("; %g degrees are asked", r.Skill.ThresholdDeg)
	}
	return s
}
