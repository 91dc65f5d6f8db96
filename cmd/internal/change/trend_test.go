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
	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/trial/season"
	"ecart/geometry/uncertainty"
)

// months of readings: days from monday, and the angle.
func series(sd float64, dayAngle ...float64) (out []Reading) {
	asked := 180.0
	for i := 0; i < len(dayAngle); i += 2 {
		r, _ := twoReadings()
		r.ID, r.Day, r.AngleDeg, r.StandardDeg, r.Sources, r.AskedDeg = int64(len(out)+1), monday.AddDate(0, 0, int(dayAngle[i])), dayAngle[i+1], sd, nil, &asked
		out = append(out, r)
	}
	return out
}

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		name string
		rs   []Reading
		want string // CHANGE and SMALLEST are the trend's own
	}{
		{"rising", series(1, 1, 148.1, 31, 151.6, 60, 156.9, 92, 160.4, 120, 164.6, 151, 167.9),
			"up CHANGE° since 3 March, a real change (SMALLEST° would show); at this rate 180° is reached between September and December"},
		{"rising slowly", series(1, 1, 165.1, 31, 164.9, 60, 166.2, 92, 165.9, 120, 166.4, 151, 166.6),
			"up CHANGE° since 3 March; these pictures cannot tell that from no change (SMALLEST° would show); whether 180° is reached at this rate cannot be told yet: N more days with a reading would tell"},
		{"past it", series(1, 1, 188, 31, 194.4, 60, 201.1, 92, 208.4),
			"up CHANGE° since 3 March, a real change (SMALLEST° would show); 180° is reached"},
		{"about there", series(2, 1, 178, 31, 179, 60, 179.5, 92, 180.2),
			"whether 180° is reached is within the uncertainty"},
		{"falling", series(1, 1, 176, 31, 170.4, 60, 164.3, 92, 157.9),
			"down CHANGE° since 3 March, a real change (SMALLEST° would show); 180° is not reached at this rate"},
		{"two days", series(3, 1, 165, 31, 167),
			"up CHANGE° since 3 March; these pictures cannot tell that from no change (SMALLEST° would show); missing: two more days with a reading: a trend takes four; at this rate a reading on"},
		{"two days, plainly", series(1, 1, 165, 31, 197),
			"up CHANGE° since 3 March, a real change (SMALLEST° would show); missing: two more days with a reading: a trend takes four"},
		{"one day", series(3, 1, 165),
			"one day only, 3 March: 165.0° ± 5.9°; a second reading as good could show a change of"},
		{"over the new year", series(1, 1, 165, 366, 197),
			"up CHANGE° since 3 March 2026, a real change (SMALLEST° would show); missing"},
	} {
		got, err := NewTrend(c.rs, Options{})
		require.NoError(t, err, c.name)
		v, u := uncertainty.Format(math.Abs(got.ChangeDeg), got.SmallestDeg)
		want := strings.NewReplacer("CHANGE", v, "SMALLEST", u).Replace(c.want)
		if r := got.Reach; r != nil && r.MoreDays != nil {
			want = strings.Replace(want, "N more", number(*r.MoreDays)+" more", 1)
		}
		assert.Contains(t, got.Sentence, want, c.name)
		_, err = json.Marshal(got)
		assert.NoError(t, err, c.name)
	}
}

// The days given are the first and last on which the band contains the angle asked, and the day
// on which the line arrives at it (Fieller 1954, J R Stat Soc B 16:175).
func TestReachIsWhereTheBandHoldsWhatIsAsked(t *testing.T) {
	rs := series(1, 1, 145.1, 31, 149.6, 60, 153.9, 92, 158.4, 120, 162.6, 151, 166.9)
	got, err := NewTrend(rs, Options{})
	require.NoError(t, err)
	require.Equal(t, Coming, got.Reach.Status)
	assert.Contains(t, got.Notes, "the day is that of a straight line, with the same gain every month; gains level off, so a day far ahead is the earliest and not the likeliest")
	for what, c := range map[string]struct {
		day *time.Time
		of  func(line, low, high float64) float64
	}{
		"from": {got.Reach.From, func(_, _, high float64) float64 { return high }},
		"at":   {got.Reach.At, func(line, _, _ float64) float64 { return line }},
		"to":   {got.Reach.To, func(_, low, _ float64) float64 { return low }},
	} {
		assert.GreaterOrEqual(t, c.of(got.Line.At(*c.day)), 180.0, what)
		assert.Less(t, c.of(got.Line.At(c.day.AddDate(0, 0, -1))), 180.0, what)
	}
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
		// as the days vary now, and not with the new one's luck of lying on the line
		d := newDays(append(rs[:len(rs):len(rs)], r))
		x := mat.NewDense(len(d.y), 2, nil)
		for i, r := range d.readings {
			x.SetRow(i, []float64{1, months(monday, r.Day)})
		}
		now := got.Line.fit
		f, ok := fit(x, d.points(), variation{{sd: now.extra.deg(), weight: 1}}, 0.95)
		require.True(t, ok)
		return math.Abs(got.Line.SlopeDeg) > now.half(0, 1)/now.sd(0, 1)*f.sd(0, 1)
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
	assert.Contains(t, got.Notes[0], "the band is that much wider")
	// at least Birge's ratio times what the stated figures alone would say
	plain := 0.5 / math.Sqrt(sumSquares(l.days))
	assert.Greater(t, l.SlopeStandardDeg, plain*l.Birge)
}

// Days that scatter less than their readings state make neither slope nor height surer
// than that, whether rater and set-up are named or not; and not much less sure.
func TestCalmDays(t *testing.T) {
	rs := series(5, 1, 165, 31, 165.4, 60, 165.9, 92, 166.2, 120, 166.6, 151, 167)
	for _, named := range []bool{true, false} {
		for i := range rs {
			if !named {
				rs[i].Rater = ""
			}
		}
		got, err := NewTrend(rs, Options{})
		require.NoError(t, err)
		stated := 5 / math.Sqrt(sumSquares(got.Line.days))
		least := math.Hypot(5, leastDayDeg) / 5
		assert.Greater(t, got.Line.SlopeStandardDeg, stated*least)
		assert.InEpsilon(t, stated*least, got.Line.SlopeStandardDeg, 0.02)
		at, low, _ := got.Line.At(got.Line.origin)
		assert.Greater(t, at-low, 1.96*5/math.Sqrt(6)*least)
		assert.InEpsilon(t, 1.96*5/math.Sqrt(6)*least, at-low, 0.02)
	}
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
	rs := fromSeason(season.Make(season.Plan{Days: 40, Takes: 2, SlopeDeg: 1, DayDeg: 2, Setups: 3, Named: true}, rand.New(rand.NewPCG(1, 1))))
	for b.Loop() {
		if _, err := NewTrend(rs, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
