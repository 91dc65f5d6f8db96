package change

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"ecart/geometry/uncertainty"
)

// Repeat is one reading of a frame that was read several times, by the same or by different
// raters.
type Repeat struct {
	Frame    string
	Rater    string
	AngleDeg float64
}

// Error is a standard error of measurement with the smallest real change between two
// readings, 1.96 sqrt(2) SEM (Weir 2005, J Strength Cond Res 19:231,
// the formula from memory). It covers marking alone: the same picture marked again.
type Error struct {
	SEM              Spread     `json:"sem_deg"`
	SmallestRealDeg  float64    `json:"smallest_real_change_deg"`
	SmallestInterval [2]float64 `json:"smallest_real_change_interval_deg"`
}

// Repeatability is how well readings repeat when the same frames are marked again.
type Repeatability struct {
	Frames  int      `json:"frames"`
	Raters  []string `json:"raters"`
	Within  *Error   `json:"within,omitempty"`  // one rater who marks again; nil: no rater marked a frame twice
	Between *Error   `json:"between,omitempty"` // any rater; nil: no frame was marked by two raters
	ICC     *ICC     `json:"icc,omitempty"`     // nil with fewer than five frames
	Notes   []string `json:"notes"`
}

// fewestFrames is the number of frames from which an intraclass correlation is given.
const fewestFrames = 5

// NewRepeatability needs at least one frame that was read twice.
func NewRepeatability(rs []Repeat) (*Repeatability, error) {
	items := map[string][][]float64{} // frame: each rater's angles
	frames := map[string][]float64{}
	place := map[[2]string]int{} // of frame and rater: index into items[frame]
	out := &Repeatability{Notes: []string{}}
	var order []string
	for _, r := range rs {
		if math.IsNaN(r.AngleDeg) || math.IsInf(r.AngleDeg, 0) {
			return nil, inputError("read it again", "the reading of %q by %q is no angle", r.Frame, r.Rater)
		}
		key := [2]string{r.Frame, r.Rater}
		if _, ok := place[key]; !ok {
			place[key] = len(items[r.Frame])
			items[r.Frame] = append(items[r.Frame], nil)
		}
		if frames[r.Frame] == nil {
			order = append(order, r.Frame)
		}
		items[r.Frame][place[key]] = append(items[r.Frame][place[key]], r.AngleDeg)
		frames[r.Frame] = append(frames[r.Frame], r.AngleDeg)
		if !slices.Contains(out.Raters, r.Rater) {
			out.Raters = append(out.Raters, r.Rater)
		}
	}
	out.Frames = len(frames)
	slices.Sort(out.Raters)
	if len(rs) == len(frames) {
		return nil, inputError("mark the same frames again", "no frame was read twice")
	}
	a := nested(items)
	if a.within > 0 {
		out.Within = newError(a.squaresWithin, float64(a.within))
	}
	if a.between > 0 {
		out.Between = betweenError(a)
	}
	if len(order) >= fewestFrames {
		table, full := tabulate(order, frames, place, items, out.Raters)
		out.ICC = newICC(table, full)
	} else {
		out.Notes = append(out.Notes, fmt.Sprintf("an intraclass correlation takes %s frames or more, of different athletes", number(fewestFrames)))
	}
	out.Notes = append(out.Notes, "this is the error of marking the same pictures again; another take, another day and another camera add theirs")
	return out, nil
}

// tabulate returns each frame's readings. full reports that every rater read every frame
// exactly once; the readings of a frame are then in the order of the raters.
func tabulate(order []string, frames map[string][]float64, place map[[2]string]int, items map[string][][]float64, raters []string) (table [][]float64, full bool) {
	full = len(raters) > 1
	for _, f := range order {
		table = append(table, frames[f])
		for _, r := range raters {
			i, ok := place[[2]string{f, r}]
			full = full && ok && len(items[f][i]) == 1
		}
	}
	if !full {
		return table, false
	}
	for n, f := range order {
		table[n] = nil
		for _, r := range raters {
			table[n] = append(table[n], items[f][place[[2]string{f, r}]][0])
		}
	}
	return table, true
}

func newError(squares, freedom float64) *Error {
	s := newSpread(squares, freedom)
	return &Error{s, smallestReal(s.SD), [2]float64{smallestReal(s.Interval[0]), smallestReal(s.Interval[1])}}
}

// betweenError is the error of a reading by any rater: the variance within raters plus the
// variance between raters. Its degrees of freedom are Satterthwaite's.
func betweenError(a analysis) *Error {
	size := a.size / float64(a.between) // mean number of readings by a rater of a frame
	msb := a.squaresBetween / float64(a.between)
	if a.within == 0 { // each rater read once: all scatter is between raters
		return newError(a.squaresBetween, float64(a.between))
	}
	msw := a.meanWithin()
	if msb <= msw { // raters differ no more than one rater's readings
		return newError(a.squaresBetween+a.squaresWithin, float64(a.between+a.within))
	}
	// v = msb/size + (1 - 1/size) msw
	x, y := msb/size, (1-1/size)*msw
	v := x + y
	return newError(v*v*v/(x*x/float64(a.between)+y*y/float64(a.within)), v*v/(x*x/float64(a.between)+y*y/float64(a.within)))
}

// smallestReal is the smallest real change at 95 % for a standard error of
// measurement: 1.96 sqrt(2) SEM.
func smallestReal(sem float64) float64 { return normal(0.95) * math.Sqrt2 * sem }

// ICC holds the intraclass correlations of a single reading (Shrout and Fleiss
// 1979, Psychol Bull 86:420): the part of the variance of these readings that is between
// frames. For the same error of reading they are high if athletes differ much and low if
// they are alike; they are below 0 if frames differ less than readings of one frame.
type ICC struct {
	OneWay      float64  `json:"icc_1_1"`           // any raters, not necessarily the same for each frame
	Agreement   *float64 `json:"icc_2_1,omitempty"` // these raters as a sample of all raters: absolute agreement
	Consistency *float64 `json:"icc_3_1,omitempty"` // these raters only: consistency, a rater's constant offset removed
}

// newICC takes each frame's readings. The two-way figures need a full table: one row per
// frame, one column per rater.
func newICC(table [][]float64, full bool) *ICC {
	a := oneWay(table, nil)
	c := (a.squaresBetween - float64(a.between)*a.meanWithin()) / a.size
	if a.within == 0 || !(a.squaresBetween+a.squaresWithin > 0) {
		return nil
	}
	out := &ICC{OneWay: c / (c + a.meanWithin())}
	if !full {
		return out
	}
	n, k := len(table), len(table[0])
	var columns []float64
	for j := range k {
		var mean float64
		for _, row := range table {
			mean += row[j] / float64(n)
		}
		columns = append(columns, mean)
	}
	raters := float64(n) * scatterOf(columns).squares
	bms := a.squaresBetween / float64(n-1)
	jms := raters / float64(k-1)
	ems := (a.squaresWithin - raters) / float64((n-1)*(k-1))
	consistency := (bms - ems) / (bms + float64(k-1)*ems)
	agreement := (bms - ems) / (bms + float64(k-1)*ems + float64(k)*(jms-ems)/float64(n))
	out.Agreement, out.Consistency = &agreement, &consistency
	return out
}

// Agreement is how two ways of reading the same frames agree: the data of a Bland-Altman
// plot (Bland and Altman 1986, Lancet 1:307).
type Agreement struct {
	Means        []float64     `json:"means_deg"`       // of each pair: the abscissa
	Differences  []float64     `json:"differences_deg"` // first minus second: the ordinate
	MeanDeg      float64       `json:"mean_difference_deg"`
	MeanInterval [2]float64    `json:"mean_difference_interval_deg"`
	SDDeg        float64       `json:"sd_deg"`
	LimitsDeg    [2]float64    `json:"limits_of_agreement_deg"` // mean -+ 1.96 sd
	LimitsEach   [2][2]float64 `json:"limits_interval_deg"`     // confidence interval of each limit
}

// NewAgreement takes the angles of the same frames (three or more) read in two ways.
func NewAgreement(first, second []float64) (*Agreement, error) {
	n := len(first)
	if n != len(second) || n < 3 {
		return nil, inputError("have each of three frames or more read both ways", "limits of agreement take pairs, and there are %d and %d readings", n, len(second))
	}
	a := &Agreement{}
	for i := range first {
		a.Means = append(a.Means, (first[i]+second[i])/2)
		a.Differences = append(a.Differences, first[i]-second[i])
		a.MeanDeg += a.Differences[i] / float64(n)
	}
	s := scatterOf(a.Differences)
	a.SDDeg = math.Sqrt(s.squares / s.freedom)
	t := uncertainty.CoverageFactor(s.freedom, 0.95)
	h := t * a.SDDeg / math.Sqrt(float64(n))
	a.MeanInterval = [2]float64{a.MeanDeg - h, a.MeanDeg + h}
	z := normal(0.95)
	// the standard error of a limit: sd sqrt(1/n + z^2/(2(n-1)))
	e := t * a.SDDeg * math.Sqrt(1/float64(n)+z*z/(2*float64(n-1)))
	for k, sign := range []float64{-1, 1} {
		a.LimitsDeg[k] = a.MeanDeg + sign*z*a.SDDeg
		a.LimitsEach[k] = [2]float64{a.LimitsDeg[k] - e, a.LimitsDeg[k] + e}
	}
	return a, nil
}

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
			return nil, inputError("place it again", "the mark for %q on %q has no place", p.Landmark, p.Frame)
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
		return nil, inputError("mark the same frames again, each point at least twice", "no point was placed twice by one rater")
	}
	out := &Placement{Within: newSpread(all.squares, all.freedom), ByRater: spreads(byRater), ByLandmark: spreads(byLandmark), Placed: len(ps)}
	if len(raters) > 1 {
		if v, ok := raterVariance(items, all.squares/all.freedom); ok {
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

// raterVariance is the variance of the raters' means about their common mean: an analysis of
// variance for each item, with the variance within raters pooled over all items. It is 0
// if that variance explains the differences, and fails if no item has two raters.
func raterVariance[K interface{ [3]string | string }](items map[K][][]float64, within float64) (float64, bool) {
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
