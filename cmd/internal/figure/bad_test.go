package figure

import (
	"errors"
	"image"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/reading"
)

func TestBadReadingsAreRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, spoil := range map[string]func(r *reading.Reading){
		"angle unknown":          func(r *reading.Reading) { r.AngleDeg = nan },
		"angle absurd":           func(r *reading.Reading) { r.AngleDeg = 1e9 },
		"interval unknown":       func(r *reading.Reading) { r.IntervalDeg[1] = nan },
		"interval reversed":      func(r *reading.Reading) { r.IntervalDeg = [2]float64{170, 160} },
		"uncertainty unknown":    func(r *reading.Reading) { r.ExpandedUncertaintyDeg = nan },
		"uncertainty negative":   func(r *reading.Reading) { r.ExpandedUncertaintyDeg = -1 },
		"coverage missing":       func(r *reading.Reading) { r.Coverage = 0 },
		"picture angle unknown":  func(r *reading.Reading) { r.PictureAngleDeg = nan },
		"picture angle at odds":  func(r *reading.Reading) { r.PictureAngleDeg = 100 },
		"turn missing":           func(r *reading.Reading) { r.Turn = 0 },
		"turn wrong":             func(r *reading.Reading) { r.Turn = -1 },
		"mark unknown":           func(r *reading.Reading) { r.Marks[0].X = nan },
		"mark far out":           func(r *reading.Reading) { r.Marks[0].Y = 1e30 },
		"covariance unknown":     func(r *reading.Reading) { r.Marks[0].Covariance[0][1] = nan },
		"covariance negative":    func(r *reading.Reading) { r.Marks[0].Covariance[1][1] = -4 },
		"covariance impossible":  func(r *reading.Reading) { r.Marks[0].Covariance = [2][2]float64{{1, 5}, {5, 1}} },
		"line without length":    func(r *reading.Reading) { r.Lines[1].ToX, r.Lines[1].ToY = r.Lines[1].FromX, r.Lines[1].FromY },
		"line unknown":           func(r *reading.Reading) { r.Lines[0].ToX = inf },
		"another picture":        func(r *reading.Reading) { r.Take.WidthPx++ },
		"density unknown":        func(r *reading.Reading) { r.Density.Values[7] = nan },
		"density negative":       func(r *reading.Reading) { r.Density.Values[7] = -1 },
		"density without step":   func(r *reading.Reading) { r.Density.StepDeg = 0 },
		"density everywhere":     func(r *reading.Reading) { r.Density.StepDeg = 1e6 },
		"threshold unknown":      func(r *reading.Reading) { r.Skill.ThresholdDeg = nan },
		"probability unknown":    func(r *reading.Reading) { r.Verdict.MeetsProbability = nan },
		"band probability above": func(r *reading.Reading) { r.Verdict.Bands[1].Probability = 1.5 },
		"bands falling":          func(r *reading.Reading) { r.Verdict.Bands[1].FromDeg = -3 },
		"band without extent":    func(r *reading.Reading) { *r.Verdict.Bands[1].ToDeg = r.Verdict.Bands[1].FromDeg },
		"too many bands":         func(r *reading.Reading) { r.Verdict.Bands = make([]reading.BandProbability, 1000) },
	} {
		t.Run(name, func(t *testing.T) {
			s := split(640, 360, 8, 9.6, 1.6).leap()
			spoil(s.r)
			img, err := Frame(plain(640, 360, ground), s.r, Options{Width: MinWidth})
			refused(t, img, err)
		})
	}
}

// refused requires an error with a hint and no picture.
func refused(t *testing.T, img image.Image, err error) {
	t.Helper()
	require.Error(t, err)
	assert.Nil(t, img)
	var two interface{ Hint() string }
	require.True(t, errors.As(err, &two), "the error says what to do")
	for _, s := range []string{err.Error(), two.Hint()} {
		assert.NotEmpty(t, s)
		assert.NotContains(t, s, "\n")
		assert.False(t, strings.HasSuffix(s, "."), s)
		assert.Equal(t, strings.ToLower(s[:1]), s[:1], s)
	}
}

func TestBadCallsAreRefused(t *testing.T) {
	s := split(640, 360, 8, 9.6, 1.6).leap()
	img := plain(640, 360, ground)
	for name, call := range map[string]func() (image.Image, error){
		"no picture":    func() (image.Image, error) { return Frame(nil, s.r, Options{}) },
		"empty picture": func() (image.Image, error) { return Frame(image.NewRGBA(image.Rectangle{}), s.r, Options{}) },
		"no reading":    func() (image.Image, error) { return Frame(img, nil, Options{}) },
		"too narrow":    func() (image.Image, error) { return Frame(img, s.r, Options{Width: 100}) },
		"too wide":      func() (image.Image, error) { return Frame(img, s.r, Options{Width: 1 << 20}) },
		"negative":      func() (image.Image, error) { return Ruler(s.r, Options{Width: -5}) },
		"range":         func() (image.Image, error) { return Ruler(s.r, Options{RangeDeg: [2]float64{5, 1}}) },
		"range unknown": func() (image.Image, error) { return Ruler(s.r, Options{RangeDeg: [2]float64{math.NaN(), 1}}) },
		"range endless": func() (image.Image, error) { return Ruler(s.r, Options{RangeDeg: [2]float64{0, 1e12}}) },
		"no ruler":      func() (image.Image, error) { return Ruler(nil, Options{}) },
	} {
		t.Run(name, func(t *testing.T) {
			img, err := call()
			refused(t, img, err)
		})
	}
}

// Any reading gives either a picture or an error.
func TestNoReadingPanics(t *testing.T) {
	img := plain(160, 90, ground)
	rapid.Check(t, func(t *rapid.T) {
		front := rapid.Float64Range(-60, 100).Draw(t, "front")
		back := rapid.Float64Range(-60, 100).Draw(t, "back")
		u := rapid.Float64Range(0.001, 90).Draw(t, "u")
		s := split(160, 90, front, back, u).leap()
		r := s.r
		if rapid.Bool().Draw(t, "upright") {
			r.Skill.AtMost = true
		}
		spots := []*float64{
			&r.AngleDeg, &r.PictureAngleDeg, &r.IntervalDeg[0], &r.IntervalDeg[1], &r.ExpandedUncertaintyDeg, &r.StandardUncertaintyDeg,
			&r.Coverage, &r.Take.TimeS, &r.Skill.ThresholdDeg, &r.Verdict.ShortfallDeg, &r.Verdict.NeededStandardUncertaintyDeg,
			&r.Verdict.Bands[0].FromDeg, &r.Verdict.Bands[2].FromDeg, r.Verdict.Bands[1].ToDeg, &r.Verdict.Bands[1].Probability,
			&r.Marks[0].X, &r.Marks[1].Covariance[0][0], &r.Marks[2].Covariance[0][1], &r.Lines[0].ToX, &r.Lines[1].FromY,
			&r.Density.FromDeg, &r.Density.StepDeg, &r.Density.Values[3],
		}
		for range rapid.IntRange(0, 3).Draw(t, "spoilt") {
			*rapid.SampledFrom(spots).Draw(t, "spot") = rapid.SampledFrom([]float64{
				math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1e-300, 1e300, 180, -180, 359.9, 1e9, 1, 0.5, 719,
			}).Draw(t, "value")
		}
		if rapid.IntRange(0, 9).Draw(t, "bare") == 0 {
			r.Marks, r.Density, r.Verdict.Bands = nil, reading.Density{}, nil
		}
		if out, err := Frame(img, r, Options{Width: MinWidth}); (out == nil) == (err == nil) {
			t.Fatalf("a picture or an error: %v, %v", out, err)
		}
	})
}

// Names come from users: any string can be drawn.
func FuzzNames(f *testing.F) {
	for _, s := range []string{"", "Wren", "Éloïse", "e\u0301", "Ωλ", "Дрозд", "דרור", "伯劳", "🤸🏽\u200d♀️", "\x00\xff\xfe", "a\nb\tc", "\u202eback",
		strings.Repeat("W", 5000), strings.Repeat("\u0301", 300), "<script>", "-", "…"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c := split(160, 90, 8, 9.6, 1.6).leap()
		c.r.Take.Name, c.r.Measure, c.r.Skill.Title, c.r.Skill.Source, c.r.Verdict.Bands[1].Deduction = s, s, s, s, s
		c.r.Marks[0].Landmark, c.r.Cautions = s, []string{s}
		img, err := Frame(plain(160, 90, ground), c.r, Options{Width: MinWidth, Who: s})
		require.NoError(t, err)
		require.NoError(t, EncodePNG(io.Discard, img))
	})
}
