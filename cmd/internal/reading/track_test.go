package reading

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// leapTrack returns the track of a split that peaks at about 163 degrees, moving
// across the picture; one mark is lost in frame 3, one predicted in frame 4.
func leapTrack() *Track {
	t := &Track{Landmarks: []string{"hip", "front-ankle", "back-ankle"}}
	for i := range 60 {
		time := float64(i) / 60
		b := (180 - opening(time)) / 2 * math.Pi / 180
		hip := [2]float64{400 + 600*time, 540}
		f := TrackFrame{Frame: i, TimeS: time, AngleDeg: math.NaN(), SDDeg: math.NaN()}
		cov := [2][2]float64{{0.04, 0.001}, {0.001, 0.05}}
		for _, side := range []float64{0, 1, -1} {
			f.Marks = append(f.Marks, Tracked{X: hip[0] + side*testLeg*math.Cos(b), Y: hip[1] + math.Abs(side)*testLeg*math.Sin(b), Covariance: cov, Seen: Found})
		}
		t.Frames = append(t.Frames, f)
	}
	t.Frames[3].Marks[1] = Tracked{Seen: Lost}
	t.Frames[4].Marks[1].Seen = Predicted
	return t
}

const keptHead = "frame,time_s,hip x_px,hip y_px,hip var_x_px2,hip cov_xy_px2,hip var_y_px2,hip seen,angle_deg,standard_uncertainty_deg\n"

func TestTrackGoesThroughCSV(t *testing.T) {
	track := leapTrack()
	_, err := Series(request(t, nil), track)
	require.NoError(t, err)
	data, err := track.CSV()
	require.NoError(t, err)
	back, err := ParseTrack("t.csv", data)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(back.Frames[3].AngleDeg), "a lost mark leaves no angle")
	track.Frames[3].AngleDeg, back.Frames[3].AngleDeg = 0, 0
	track.Frames[3].SDDeg, back.Frames[3].SDDeg = 0, 0
	assert.Equal(t, track, back)
	for _, bad := range []string{"", "a,b\n", "frame,time_s,hip x_px\n", "frame,time_s,hip x_px,hip y_px,hip var_x_px2,hip cov_xy_px2,hip var_y_px2,hip seen,angle_deg,standard_uncertainty_deg\n",
		"frame,time_s,hip x_px,hip y_px,hip var_x_px2,hip cov_xy_px2,hip var_y_px2,hip seen,angle_deg,standard_uncertainty_deg\n0,0,1,2,1,0,1,guessed,,\n",
		keptHead + "0,0,,2,1,0,1,seen,,\n", keptHead + "0,0,1,,1,0,1,seen,,\n", keptHead + "0,0,1,2,,0,1,seen,,\n", keptHead + "0,0,1,2,1,,1,seen,,\n", keptHead + "0,,1,2,1,0,1,seen,,\n",
		keptHead + "0,0,1,2,1,0,1,,,\n", keptHead + ",0,1,2,1,0,1,seen,,\n", keptHead + "0,0,1,2,1,0,1\n", keptHead + "0,0,1e308,2,1,0,1,seen,,\n", keptHead + "0,-1,1,2,1,0,1,seen,,\n",
		keptHead + "0,1,1,2,1,0,1,seen,,\n1,0.5,1,2,1,0,1,seen,,\n", keptHead + "0,0,1,2,1,0,1,seen,5,-1\n", strings.ReplaceAll(keptHead, "hip", "hipp") + "0,0,1,2,1,0,1,seen,,\n",
		"frame,time_s,hip x_px,hip y_px,hip var_x_px2,hip cov_xy_px2,hip var_y_px2,hip seen,angle_deg,standard_uncertainty_deg\n0,0,1,2,-1,0,1,seen,,\n",
		"frame,time_s,hip x_px,hip y_px,hip var_x_px2,hip cov_xy_px2,hip var_y_px2,hip seen,angle_deg,standard_uncertainty_deg\n1,0,1,2,1,0,1,seen,,\n1,0,1,2,1,0,1,seen,,\n",
	} {
		_, err := ParseTrack("t.csv", []byte(bad))
		require.Error(t, err, bad)
		assert.ErrorContains(t, err, "t.csv")
		hintOf(t, err)
	}
}

func TestReadPeak(t *testing.T) {
	q := request(t, nil)
	q.Camera = "squared"
	r, p, err := ReadPeak(q, leapTrack(), [2]float64{0, 1})
	require.NoError(t, err)
	assert.Equal(t, 25, p.Frame)
	assert.InDelta(t, 163, p.AngleDeg, 0.3)
	assert.Less(t, r.IntervalDeg[0], 163.0)
	assert.Greater(t, r.IntervalDeg[1], 163.0)
	assert.Equal(t, []string{"the angle in 2 of 60 frames, in which a sticker is not seen", "whether the hips are open to the camera: mark the other hip as well, as front-hip or back-hip"}, r.NotIncluded)
	assert.Equal(t, []Gap{{3, 4}}, p.Gaps)
	assert.Empty(t, p.Jumps)
	assert.Equal(t, p, *r.Peak)
	sources := map[string]bool{}
	for _, b := range r.Budget {
		sources[b.Source] = true
	}
	assert.True(t, sources[SourceTiming])
	// a sensor read the other way moves the marks the other way: the hip, in the
	// middle of the picture, against ankles 60 px lower
	up, _, err := ReadPeak(q, leapTrack(), [2]float64{0, -1})
	require.NoError(t, err)
	assert.NotEqual(t, r.AngleDeg, up.AngleDeg)
	assert.InDelta(t, r.AngleDeg, up.AngleDeg, 1)
	// and one that reads all rows at once lies between them
	atOnce, _, err := ReadPeak(q, leapTrack(), [2]float64{})
	require.NoError(t, err)
	const drawn = 0.02 // degrees: of the draws' own scatter
	assert.InDelta(t, (r.AngleDeg+up.AngleDeg)/2, atOnce.AngleDeg, drawn)
}

func FuzzParseTrack(f *testing.F) {
	data, _ := leapTrack().CSV()
	f.Add(data[:2000])
	f.Fuzz(func(t *testing.T, data []byte) {
		track, err := ParseTrack("f.csv", data)
		if err != nil {
			hintOf(t, err)
			return
		}
		for i := range track.Frames {
			track.MarksAt(i)
			track.VelocityPx(i)
		}
	})
}

func TestSketchIsTheFirstOrder(t *testing.T) {
	q := request(t, splitMarks(165))
	q.Camera = "squared"
	full := read(t, q)
	quick, err := Sketch(q)
	require.NoError(t, err)
	assert.Equal(t, full.FirstOrder.AngleDeg, quick.AngleDeg)
	assert.Equal(t, full.FirstOrder.StandardUncertaintyDeg, quick.StandardUncertaintyDeg)
	assert.Equal(t, full.FirstOrder.IntervalDeg, quick.IntervalDeg)
	assert.Equal(t, full.Lines, quick.Lines)
	assert.Equal(t, full.Marks, quick.Marks)
}

// joinedTracks returns one leap after another, with all marks lost for gap frames between them.
func joinedTracks(gap int, parts ...*Track) *Track {
	out := &Track{Landmarks: parts[0].Landmarks}
	n := 0
	add := func(f TrackFrame) {
		f.Frame, f.TimeS = n, float64(n)/60
		n++
		out.Frames = append(out.Frames, f)
	}
	for i, p := range parts {
		for range gap {
			if i > 0 {
				add(TrackFrame{Marks: []Tracked{{Seen: Lost}, {Seen: Lost}, {Seen: Lost}}, AngleDeg: math.NaN(), SDDeg: math.NaN()})
			}
		}
		for _, f := range p.Frames {
			add(f)
		}
	}
	return out
}

func wholeLeap() *Track {
	t := leapTrack()
	t.Frames = t.Frames[5:]
	return t
}

// Stickers that are found again after more than a quarter of a second begin another pass.
func TestPassesOfATrack(t *testing.T) {
	for _, c := range []struct{ gap, want int }{{0, 1}, {10, 1}, {20, 3}, {90, 3}} {
		track := joinedTracks(c.gap, wholeLeap(), wholeLeap(), wholeLeap())
		got := track.Passes()
		require.Len(t, got, c.want, "a gap of %d frames", c.gap)
		assert.Equal(t, 0, got[0].Frames[0].Frame)
		assert.Equal(t, len(track.Frames)-1, got[len(got)-1].Frames[len(got[len(got)-1].Frames)-1].Frame)
	}
	none := joinedTracks(0, &Track{Landmarks: []string{"hip"}, Frames: []TrackFrame{{Marks: []Tracked{{Seen: Lost}}}}})
	assert.Empty(t, none.Passes())
}

// Two leaps in one pass are two tracks, each with its own peak.
func TestLeapsOfATrack(t *testing.T) {
	back := wholeLeap()
	slices.Reverse(back.Frames) // she leaps back, from where she landed
	track := joinedTracks(0, wholeLeap(), back)
	got, smaller, _, err := track.Leaps(request(t, nil), false)
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Zero(t, smaller)
	one, _, _, err := wholeLeap().Leaps(request(t, nil), false)
	require.NoError(t, err)
	require.Len(t, one, 1)
	at := func(track *Track) float64 {
		s, err := Series(request(t, nil), track)
		require.NoError(t, err)
		p, err := track.Peak(s, false)
		require.NoError(t, err)
		return p.TimeS
	}
	first := at(wholeLeap()) - 5.0/60
	assert.InDelta(t, first, at(got[0]), 1.0/60)
	assert.InDelta(t, 109.0/60-first, at(got[1]), 1.0/60)
}

// Strides before a leap are not leaps, but a smaller leap after it is, for any share between 0.65 and 0.9.
func TestShareOfALeap(t *testing.T) {
	var angles []float64
	hump := func(most float64) {
		for i := range 30 {
			angles = append(angles, 40+(most-40)*math.Sin(math.Pi*float64(i)/30))
		}
	}
	hump(95)
	hump(100)
	hump(163)
	hump(150)
	sd := make([]float64, len(angles))
	for i := range sd {
		sd[i] = 0.4
	}
	for share := 0.65; share <= 0.9; share += 0.05 {
		wide, smaller, most := leaps(angles, sd, share)
		require.Len(t, wide, 2, "share %v", share)
		assert.InDelta(t, 163, angles[wide[0].Top], 0.1)
		assert.InDelta(t, 150, angles[wide[1].Top], 0.1)
		assert.Equal(t, 2, smaller)
		assert.InDelta(t, 100, most, 0.1)
	}
}
