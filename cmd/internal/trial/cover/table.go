package main

import (
	"fmt"
	"io"
	"math"
	"strings"
)

// study has all counts of single frames.
type study struct {
	Takes  int       `json:"takes_a_row"`
	Seed   uint64    `json:"seed"`
	Rows   []summary `json:"rows"`
	Thirds []summary `json:"thirds"`    // parts of the rows of the detailed measures, for information
	Told   []summary `json:"told_more"` // with stature and distance given, for information
}

const rule = "------------------------------------------------------------------------------------------------"

func (s *study) print(out io.Writer) error {
	var b strings.Builder
	b.WriteString(s.head())
	const columns = "%-19s%-9s%-5s%6s%9s%11s%7s%8s%7s%9s%8s\n"
	heads := func(first string) {
		fmt.Fprintf(&b, columns, first, "camera", "lens", "held", "width", "narrowest", "ratio", "below", "above", "1st ord.", "refused")
		fmt.Fprintf(&b, columns, "", "", "file", "%", "deg", "deg", "", "%", "%", "held %", "")
		fmt.Fprintln(&b, rule)
	}
	line := func(name string, r summary) {
		lens := "no"
		if r.Lens {
			lens = "yes"
		}
		mark := ""
		if !r.Within {
			mark = "  *"
		}
		fmt.Fprintf(&b, "%-19s%-9s%-5s%6.1f%9.2f%11.2f%7.2f%8.1f%7.1f%9.1f%8d%s\n", name, r.Camera, lens,
			100*r.Held, r.Width, r.Narrow, r.Ratio, 100*r.Below, 100*r.Above, 100*r.First, r.Refused, mark)
	}
	heads("measure")
	last := ""
	for _, r := range s.Rows {
		if last != "" && last != r.Measure {
			fmt.Fprintln(&b)
		}
		last = r.Measure
		line(r.Measure, r)
		if !r.Within {
			fmt.Fprintf(&b, "    * %s\n", r.Why)
		}
	}
	missed := 0
	for _, r := range s.Rows {
		if !r.Within {
			missed++
		}
	}
	fmt.Fprintf(&b, "%s\n%d of %d rows are within %.1f to %.1f %% and a ratio of %.2f\n\n", rule, len(s.Rows)-missed, len(s.Rows),
		100*minHeld, 100*maxHeld, widest)
	b.WriteString(s.foot())
	if len(s.Thirds) > 0 {
		b.WriteString("For information: the same takes by the true angle and by the camera's distance. A row may hold the\n" +
			"truth in 95 % by too much in one place and too little in another; this shows where. No lens file.\n\n")
		heads("part")
		last = ""
		for _, r := range s.Thirds {
			if last != r.Measure+r.Camera {
				fmt.Fprintf(&b, "%s, %s\n", r.Measure, r.Camera)
			}
			last = r.Measure + r.Camera
			r.Within = true
			line("  "+r.Part, r)
		}
		fmt.Fprintln(&b)
	}
	if len(s.Told) > 0 {
		b.WriteString("For information: stature given to a centimetre and distance to a twentieth.\n\n")
		heads("measure")
		for _, r := range s.Told {
			line(r.Measure, r)
		}
	}
	_, err := io.WriteString(out, b.String())
	return err
}

func (s *study) head() string {
	return fmt.Sprintf(`How often the stated 95 %% interval holds the truth: %d takes a row, seed %d

Who and what   girls (7 of 10) and boys of 8 to 17, each age alike: stature by the CDC 2000 growth charts, segments
               4 %%, widths 7 and girth 10 %% about a handbook body, hips 0.191 of stature across the skin. True
               angles even over the measure's range.
               Legs open 2 and arms 4 degrees outwards, give or take 4 and 5; a leg in a straddle 4, give or take 6.
Camera         %.1f to %g m away, evenly; half the takes zoomed until the body fills 55 to 90 %% of 1920 x 1080, half at
               26 mm equivalent as it is. Off square by yaw and pitch, normal: squared 3 and 3, by-eye 10 and 5,
               unknown 20 and 8 degrees; roll evenly within %d. Aimed at the body to 0.25 and 0.12 m.
Plane          any yaw (15) and pitch (5); a rectangle of %g x %g m stands 0.2 to 0.8 m behind the run, its corners
               clicked; the run strays from it by 2 degrees of yaw and 1 of pitch, it is level to half a degree.
Lens           without a file: a radial term of up to 1 %% of the height at the corner, either way. With one: the true
               lens drawn from the file's covariance, the focal length known to 0.2 %%.
Marks          on the skin of the side seen, missed by palpation (normal, each axis, mm: hip 15, shoulder 12, knee 9,
               elbow 7, wrist, ankle and toe 6) and by a click of %.1f px. Palpation is taken from the literature, by
               the readings as by this study: how large it really is cannot be tested here.
The reading    is told the set-up, the facing and the lens file, and nothing else. A landmark behind the body is taken
               to be found all the same. Takes with a mark outside the picture are drawn again.

`, s.Takes, s.Seed, nearest, float64(farthest), maxRoll, matWidth, matHeight, click)
}

func (s *study) foot() string {
	return fmt.Sprintf(`held       share of the takes read whose interval holds the true angle; chance alone moves it by %.1f %% (1 sd)
width      mean width of the interval; of legs-apart in hundredths of a shoulder width
narrowest  width of the narrowest interval [estimate + a, estimate + b], a and b one pair for the whole row, that
           holds 95 %% of the truths: the shortest stretch that holds 95 %% of the row's errors (truth less
           estimate). It is known only once the truths are, and it cannot widen for a poor take or narrow for a good
           one as a reading's interval does, so that a ratio below 1 is possible
below      share of takes whose truth lies below the interval; above likewise
1st ord.   what the first-order interval would have held: it sees nothing of an oblique camera, hence Monte Carlo
refused    takes that the reading refused, with a reason; they count for nothing else
*          held outside %.1f to %.1f %%, or a ratio above %.2f

`, 100*math.Sqrt(coverage*(1-coverage)/float64(s.Takes)), 100*minHeld, 100*maxHeld, widest)
}
