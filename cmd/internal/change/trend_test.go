package change

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry/uncertainty"
)

// months of readings: days from monday, and the angle.
func series(sd float64, dayAngle ...float64) (out []Reading) {
	asked := 180.0
	for i := 0; i < len(dayAngle); i += 2 {
		r, _ := two()
		r.ID, r.Day, r.AngleDeg, r.StandardDeg, r.Sources, r.AskedDeg = int64(len(out)+1), monday.AddDate(0, 0, int(dayAngle[i])), dayAngle[i+1], sd, nil, &asked
		out = append(out, r)
	}
	return out
}

// byHand is the change over the span and the half-width of its interval, for days
// that are alike: least squares as in any textbook, Student's t for n-2 degrees of
// freedom from NIST TN 1297, table B.1, to its three digits.
func byHand(rs []Reading) (change, half float64) {
	t := map[int]float64{4: 4.303, 5: 3.182, 6: 2.776}[len(rs)]
	var mx, my, sxx, sxy, squares float64
	n := float64(len(rs))
	for _, r := range rs {
		mx, my = mx+months(monday, r.Day)/n, my+r.AngleDeg/n
	}
	for _, r := range rs {
		x := months(monday, r.Day) - mx
		sxx, sxy = sxx+x*x, sxy+x*(r.AngleDeg-my)
	}
	for _, r := range rs {
		e := r.AngleDeg - my - sxy/sxx*(months(monday, r.Day)-mx)
		squares += e * e
	}
	span := months(rs[0].Day, rs[len(rs)-1].Day)
	return sxy / sxx * span, t * math.Sqrt(squares/(n-2)/sxx) * span
}

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		name string
		rs   []Reading
		want string // CHANGE and SMALLEST are by hand
	}{
		{"rising", series(1, 1, 165.1, 31, 166.6, 60, 168.9, 92, 170.4, 120, 172.6, 151, 173.9),
			"up CHANGE° since 3 March; a change under SMALLEST° would not be real; at this rate 180° is reached between October and November"},
		{"rising slowly", series(1, 1, 165.1, 31, 164.9, 60, 166.2, 92, 165.9, 120, 166.4, 151, 166.6),
			"up CHANGE° since 3 March; a change under SMALLEST° would not be real; at this rate 180° is reached not before May 2028"},
		{"past it", series(1, 1, 188, 31, 188.4, 60, 189.1, 92, 189.4),
			"up CHANGE° since 3 March; a change under SMALLEST° would not be real; 180° is reached"},
		{"about there", series(2, 1, 178, 31, 179, 60, 179.5, 92, 180.2),
			"up CHANGE° since 3 March; a change under SMALLEST° would not be real; whether 180° is reached is within the uncertainty"},
		{"falling", series(1, 1, 172, 31, 170.4, 60, 168.3, 92, 166.9),
			"down CHANGE° since 3 March; a change under SMALLEST° would not be real; 180° is not reached at this rate"},
		{"nothing", series(3, 1, 165, 31, 168, 60, 164, 92, 167, 120, 164.8),
			"no real change since 3 March: down CHANGE°, and a change under SMALLEST° would not be real; 180° is not reached at this rate; at this rate none would show within three years"},
		// 1.96 sqrt(2) 3 is 8.32, rounded up; at 2 degrees in 30 days it takes 124.7 days
		{"two days", series(3, 1, 165, 31, 167),
			"no real change since 3 March: up 2.0°, and a change under 8.4° would not be real; missing: two more days with a reading: a trend takes four; at this rate a reading on 6 July or later could first show one"},
		{"two days, plainly", series(1, 1, 165, 31, 177),
			"up 12.0° since 3 March; a change under 2.8° would not be real; missing: two more days with a reading: a trend takes four"},
		{"one day", series(3, 1, 165),
			"one day only, 3 March: 165.0° ± 5.9°; a second reading as good could show a change of 8.4° or more"},
		{"over the new year", series(1, 1, 165, 366, 177),
			"up 12.0° since 3 March 2026; a change under 2.8° would not be real; missing: two more days with a reading: a trend takes four"},
	} {
		got, err := NewTrend(c.rs, Options{})
		require.NoError(t, err, c.name)
		change, half := byHand(c.rs)
		v, u := uncertainty.Format(math.Abs(change), half)
		assert.Equal(t, strings.NewReplacer("CHANGE", v, "SMALLEST", u).Replace(c.want), got.Sentence, c.name)
		_, err = json.Marshal(got)
		assert.NoError(t, err, c.name)
	}
}

// The days between which the line comes to what is asked are Fieller's: for points
// that are alike, the roots of (a + b t - T)^2 = k^2 (Caa + 2 t Cab + t^2 Cbb).
func TestReachIsFiellers(t *testing.T) {
	rs := series(1, 1, 165.1, 31, 166.6, 60, 168.9, 92, 170.4, 120, 172.6, 151, 173.9)
	got, err := NewTrend(rs, Options{})
	require.NoError(t, err)
	f := got.Line.fit
	const k = 2.7764451051977987 // Student's t for 4 degrees of freedom, 95 %: 2.78 in NIST TN 1297, table B.1
	a, b := f.b[0]-180, f.b[1]
	qa, qb, qc := b*b-k*k*f.standard.At(1, 1), a*b-k*k*f.standard.At(0, 1), a*a-k*k*f.standard.At(0, 0)
	root := math.Sqrt(qb*qb - qa*qc)
	for _, c := range []struct {
		t   float64
		day *time.Time
	}{{(-qb - root) / qa, got.Reach.From}, {-a / b, got.Reach.At}, {(-qb + root) / qa, got.Reach.To}} {
		at := got.Line.origin.Add(time.Duration(c.t * month * 24 * float64(time.Hour)))
		late := c.day.Sub(at)
		assert.True(t, late >= 0 && late < 24*time.Hour, "%s is the first day after %s", c.day, at)
	}
}

// Of athletes who come to what is asked on a known day, the days named hold it as
// often as an interval of 95 % has to (three standard deviations of 1,000).
func TestReachHoldsTheDay(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 8))
	h := hall{days: 8, takes: 1, slope: 3, sources: usual, dayToDay: 1.5}
	asked := 185.0 // after 35 degrees at 3 a month
	day := monday.AddDate(0, 0, int(math.Ceil(35.0/3*month)))
	const athletes = 1000
	holds := 0
	for range athletes {
		got, err := NewTrend(h.readings(rnd), Options{AskedDeg: &asked})
		require.NoError(t, err)
		r := got.Reach
		// an unreal slope rules no later day out, and one that is open to the right none after From
		if r.Status == NotAtThisRate || r.Status == Coming && !r.From.After(day) && (r.To == nil || !r.To.Before(day)) {
			holds++
		}
	}
	assert.InDelta(t, 0.95, float64(holds)/athletes, 3*math.Sqrt(0.95*0.05/athletes))
}

// One more reading on the day named, on the line, makes the slope real; a week
// earlier it does not.
func TestNextDay(t *testing.T) {
	rs := series(2, 1, 165, 15, 164.2, 31, 166.4, 46, 165.6, 60, 166.5)
	got, err := NewTrend(rs, Options{})
	require.NoError(t, err)
	require.False(t, got.Real)
	require.NotNil(t, got.NextDay)
	with := func(day time.Time) bool {
		at, _, _ := got.Line.At(day)
		r := rs[0]
		r.Day, r.AngleDeg = day, at
		more, err := NewTrend(append(rs[:len(rs):len(rs)], r), Options{})
		require.NoError(t, err)
		// as the readings scatter now, and not with the new one's fortune of lying on the line
		f := more.Line.fit
		half := f.half(0, 1) * math.Sqrt(got.Line.fit.scale/f.scale)
		return math.Abs(got.Line.SlopeDeg) > half
	}
	assert.True(t, with(*got.NextDay))
	assert.False(t, with(got.NextDay.AddDate(0, 0, -7)))
}

func TestOverDispersionIsReported(t *testing.T) {
	rs := series(0.5, 1, 160, 31, 168, 60, 161, 92, 169, 120, 163, 151, 170)
	got, err := NewTrend(rs, Options{})
	require.NoError(t, err)
	l := got.Line
	assert.True(t, l.OverDispersed)
	assert.Less(t, l.Probability, 1e-6)
	assert.InDelta(t, math.Sqrt(l.ChiSquared/4), l.Birge, 1e-12)
	// alike points: the scatter beyond what is stated is chi-squared's
	assert.InDelta(t, 0.5*math.Sqrt(l.Birge*l.Birge-1), l.ExtraDeg, 1e-9)
	assert.Contains(t, got.Notes[0], "more than was stated")
	// Birge's ratio times what the stated figures alone would say
	plain := 0.5 / math.Sqrt(sumSquares(l.days))
	assert.InEpsilon(t, plain*l.Birge, l.SlopeStandardDeg, 1e-9)

	calm, err := NewTrend(series(5, 1, 165, 31, 165.4, 60, 165.9, 92, 166.2, 120, 166.6, 151, 167), Options{})
	require.NoError(t, err)
	assert.Contains(t, calm.Notes[0], "scatter only")
}

func sumSquares(x []float64) (s float64) {
	var mean float64
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		s += (v - mean) * (v - mean)
	}
	return s
}

// Readings of another kind are left out and named, in whatever order they come.
func TestUnlikeReadingsAreLeftOut(t *testing.T) {
	rs := series(1, 151, 173.9, 31, 166.6, 1, 165.1, 92, 170.4, 60, 168.9, 120, 172.6)
	odd := series(1, 5, 140, 6, 141, 7, 142, 8, 143)
	odd[0].State, odd[1].Side, odd[2].Condition, odd[3].Definition = "cold", "right", "passive", "shoulder-hip and shoulder-elbow"
	for i := range odd {
		odd[i].ID += 100
	}
	got, err := NewTrend(append(odd, rs...), Options{})
	require.NoError(t, err)
	assert.Len(t, got.Days, 6)
	assert.Equal(t, []LeftOut{{101, "state cold and not warm"}, {102, "side right and not left"}, {103, "condition passive and not active"},
		{104, "lines shoulder-hip and shoulder-elbow and not hip-shoulder and shoulder-wrist"}}, got.LeftOut)
	alone, err := NewTrend(rs, Options{})
	require.NoError(t, err)
	assert.Equal(t, alone.Sentence, got.Sentence)
	assert.True(t, got.Days[0].Day.Before(got.Days[5].Day))
}

// Less is better: the days are those of the mirrored readings.
func TestAtMost(t *testing.T) {
	up := series(1, 1, 165.1, 31, 166.6, 60, 168.9, 92, 170.4, 120, 172.6, 151, 173.9)
	var down []Reading
	for _, r := range up {
		r.AngleDeg = 180 - r.AngleDeg
		down = append(down, r)
	}
	asked, none := 180.0, 0.0
	a, err := NewTrend(up, Options{AskedDeg: &asked})
	require.NoError(t, err)
	b, err := NewTrend(down, Options{AskedDeg: &none, AtMost: true})
	require.NoError(t, err)
	assert.Equal(t, a.Reach, b.Reach)
	assert.InDelta(t, -a.ChangeDeg, b.ChangeDeg, 1e-9)
}

func TestTrendRefuses(t *testing.T) {
	_, err := NewTrend(nil, Options{})
	require.ErrorContains(t, err, "no readings")
	rs := series(1, 1, 165, 2, 166)
	rs[1].Measure = "pike"
	_, err = NewTrend(rs, Options{})
	require.ErrorContains(t, err, "of pike")
	_, err = NewTrend(rs[:1], Options{Coverage: 95})
	require.ErrorContains(t, err, "95")
}

func BenchmarkTrend(b *testing.B) {
	rs := hall{days: 40, takes: 2, slope: 1, sources: usual, dayToDay: 2, setups: 3}.readings(rand.New(rand.NewPCG(1, 1)))
	for b.Loop() {
		if _, err := NewTrend(rs, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
