package reading

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// leapTrack follows a split that opens and closes about 163 degrees, moving
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
