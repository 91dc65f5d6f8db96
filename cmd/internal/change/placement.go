package change

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// Placed is a point that a rater placed for a landmark of a frame. Several with the same
// rater, frame and landmark are repeated placements.
type Placed struct {
	Rater, Frame, Landmark string
	X, Y                   float64 // px
}

// Spread is a standard deviation with its degrees of freedom and its 95 % confidence
// interval by chi-squared.
type Spread struct {
	SD       float64    `json:"sd"`
	Freedom  float64    `json:"degrees_of_freedom"`
	Interval [2]float64 `json:"interval"`
}

func newSpread(squares, freedom float64) Spread {
	sd := math.Sqrt(squares / freedom)
	return Spread{sd, freedom, sdInterval(sd, freedom, 0.95)}
}

// Placement is the repeatability of placed points: standard deviations in px, each axis.
type Placement struct {
	Within     Spread            `json:"within_px"`   // of one rater's repeated placements, pooled over all raters
	ByRater    map[string]Spread `json:"by_rater_px"` // the same for each rater
	ByLandmark map[string]Spread `json:"by_landmark_px"`
	// BetweenPx is the standard deviation between raters' mean positions of one landmark:
	// each rater has another place in mind. Nil with one rater.
	BetweenPx *float64 `json:"between_raters_px,omitempty"`
	Placed    int      `json:"placed"`
}

// NewPlacement pools the scatter about the mean of each rater, frame and landmark: the sum
// of squares over the sum of 2 (n - 1), two axes to a point.
func NewPlacement(ps []Placed) (*Placement, error) {
	type cell struct{ rater, frame, landmark string }
	cells := map[cell][][2]float64{}
	var order []cell
	for _, p := range ps {
		if bad := p.X + p.Y; math.IsNaN(bad) || math.IsInf(bad, 0) {
			return nil, wrong("place it again", "the mark for %q on %q has no place", p.Landmark, p.Frame)
		}
		c := cell{p.Rater, p.Frame, p.Landmark}
		if cells[c] == nil {
			order = append(order, c)
		}
		cells[c] = append(cells[c], [2]float64{p.X, p.Y})
	}
	var all sum
	byRater, byLandmark := map[string]*sum{}, map[string]*sum{}
	items := map[[3]string][][]float64{} // frame, landmark, axis: the raters' values
	raters := map[string]bool{}
	for _, c := range order {
		raters[c.rater] = true
		for axis := range 2 {
			var values []float64
			for _, p := range cells[c] {
				values = append(values, p[axis])
			}
			item := [3]string{c.frame, c.landmark, "xy"[axis : axis+1]}
			items[item] = append(items[item], values)
			s := scatterOf(values)
			all.add(s)
			into(byRater, c.rater).add(s)
			into(byLandmark, c.landmark).add(s)
		}
	}
	if all.freedom == 0 {
		return nil, wrong("mark the same frames again, each point at least twice", "no point was placed twice by one rater")
	}
	out := &Placement{Within: newSpread(all.squares, all.freedom), ByRater: spreads(byRater), ByLandmark: spreads(byLandmark), Placed: len(ps)}
	if len(raters) > 1 {
		if v, ok := between(items, all.squares/all.freedom); ok {
			sd := math.Sqrt(v)
			out.BetweenPx = &sd
		}
	}
	return out, nil
}

// sum is a sum of squares about means with its degrees of freedom.
type sum struct{ squares, freedom float64 }

func (s *sum) add(o sum) { s.squares, s.freedom = s.squares+o.squares, s.freedom+o.freedom }

func scatterOf(values []float64) sum {
	var mean float64
	for _, v := range values {
		mean += v / float64(len(values))
	}
	s := sum{freedom: float64(len(values) - 1)}
	for _, v := range values {
		s.squares += (v - mean) * (v - mean)
	}
	return s
}

func into[K comparable](m map[K]*sum, key K) *sum {
	if m[key] == nil {
		m[key] = &sum{}
	}
	return m[key]
}

func spreads(m map[string]*sum) map[string]Spread {
	out := map[string]Spread{}
	for k, s := range m {
		if s.freedom > 0 {
			out[k] = newSpread(s.squares, s.freedom)
		}
	}
	return out
}

// between is the variance of the raters' means about their common mean: an analysis of
// variance for each item, with the variance within raters pooled over all items. It is 0
// if that variance explains the differences, and fails if no item has two raters.
func between[K interface{ [3]string | string }](items map[K][][]float64, within float64) (float64, bool) {
	a := nested(items)
	if a.between == 0 {
		return 0, false
	}
	return math.Max(0, (a.squaresBetween-float64(a.between)*within)/a.size), true
}

// nested sums the analyses of variance of each item's raters, in a fixed order, so that
// the result is the same to the last bit.
func nested[K interface{ [3]string | string }](items map[K][][]float64) (out analysis) {
	order := slices.SortedFunc(maps.Keys(items), func(a, b K) int { return strings.Compare(fmt.Sprint(a), fmt.Sprint(b)) })
	for _, item := range order {
		groups := items[item]
		groups = slices.DeleteFunc(slices.Clone(groups), func(g []float64) bool { return len(g) == 0 })
		if len(groups) == 0 {
			continue
		}
		a := oneWay(groups, nil)
		out.squaresWithin += a.squaresWithin
		out.within += a.within
		out.squaresBetween += a.squaresBetween
		out.between += a.between
		out.size += a.size
	}
	return out
}
