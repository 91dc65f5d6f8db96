package desk

import (
	"context"
	"errors"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/needs"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
	"ecart/vision/pose/model"
	"ecart/vision/see/seetest"
	"ecart/vision/take"
)

func TestMain(m *testing.M) { os.Exit(seetest.Tests{M: m}.Run()) }

// asked returns a reading without marks.
func asked(t *testing.T, measure string) *Asked {
	q, err := New(Options{}).PrepareWith(Ask{Measure: measure, Camera: "by-eye", Confidence: 0.95, Seed: 1}, &reading.Marks{Schema: reading.MarksSchema})
	require.NoError(t, err)
	return q
}

func opened(t *testing.T, path string) *take.Take {
	tk, err := take.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { tk.Close() })
	return tk
}

// For the built-in leap the proposed moment is within two frames and the angle within three
// degrees of the drawing's; the reading from it is no measurement. The work ends
// at once if it is stopped.
func TestProposalsForTheBuiltInLeap(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	path := filepath.Join(t.TempDir(), "leap.mp4")
	clip, _ := demotake.Files()
	require.NoError(t, os.WriteFile(path, clip, 0o600))
	tk := opened(t, path)

	q := asked(t, "hip-split")
	ctx, cancel := context.WithCancel(t.Context())
	var stopped time.Time
	_, err := New(Options{}).Propose(ctx, tk, q, Athlete{}, func(part float64) {
		if part > 0.3 && stopped.IsZero() {
			stopped = time.Now()
			cancel()
		}
	})
	require.ErrorIs(t, err, context.Canceled)
	ended := time.Since(stopped)

	began := time.Now()
	p, err := New(Options{}).Propose(t.Context(), tk, q, Athlete{}, nil)
	require.NoError(t, err)
	assert.Less(t, ended, time.Since(began)/3, "two thirds of the work were left, however busy the machine is")
	assert.InDelta(t, 0.7103, p.MomentS, 2.0/60, "the drawing's peak, leap.truth.json")
	assert.InDelta(t, 43, p.Marks.Frame, 2)
	assert.True(t, p.Marks.Proposed())
	assert.LessOrEqual(t, p.Looks, 24, "each takes a seventh of a second")
	q.Request.Marks = p.Marks
	r, err := New(Options{}).Read(t.Context(), tk, q)
	require.NoError(t, err)
	assert.True(t, r.Reading.Proposed)
	assert.InDelta(t, 163, r.Reading.PictureAngleDeg, 3)
	_, err = Entry(Filing{Athlete: "Wren", Day: "2026-03-01"}, q, r.Reading)
	assert.ErrorContains(t, err, "not confirmed")

	// what a frame missed is computed from the frames around it, also for another one that a person marks
	assert.Zero(t, r.Reading.Moment.LeastDeg)
	assert.Less(t, r.Reading.Moment.MostDeg, 3.0, "the prior of a frame that somebody picked is 5")
	assert.Equal(t, "the frames around it, as the pose network proposes", r.Reading.Moment.How)
	q.At = "46"
	off, err := New(Options{}).Read(t.Context(), tk, q)
	require.NoError(t, err)
	assert.Less(t, off.Reading.Moment.LeastDeg, 3.6, "what three frames off lose by leap.truth.json")
	assert.Greater(t, off.Reading.Moment.MostDeg, 3.6)
	assert.Greater(t, off.Reading.Moment.LeastDeg+off.Reading.Moment.MostDeg, r.Reading.Moment.MostDeg+2)
}

// A picture with nobody in it gives one clear error.
func TestNobodyIsSeen(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	path := filepath.Join(t.TempDir(), "wall.png")
	writeWall(t, path)
	_, err := New(Options{}).Propose(t.Context(), opened(t, path), asked(t, "hip-split"), Athlete{}, nil)
	require.ErrorContains(t, err, `nobody is seen in "wall.png"`)
	var hinted interface{ Hint() string }
	require.True(t, errors.As(err, &hinted))
	assert.Contains(t, hinted.Hint(), "by hand")

	_, err = New(Options{}).Propose(t.Context(), opened(t, path), asked(t, "hip-split"), Athlete{At: geometry.Point{X: 300, Y: 200}, Given: true}, nil)
	require.EqualError(t, err, `nobody is seen about 300,200 in frame 0 of "wall.png"`)
	require.True(t, errors.As(err, &hinted))
	assert.NotContains(t, hinted.Hint(), "athlete-at", "that was given")
}

// Without the network the error says so before any work.
func TestNoNetwork(t *testing.T) {
	t.Setenv(model.Variable, filepath.Join(t.TempDir(), "none"))
	path := filepath.Join(t.TempDir(), "wall.png")
	writeWall(t, path)
	_, err := New(Options{}).Propose(t.Context(), opened(t, path), asked(t, "hip-split"), Athlete{}, nil)
	require.ErrorContains(t, err, "no marks can be proposed")
}

// If a measure needs the way the chest faces and the picture does not show it, the error says what to do.
func TestUnknownFacing(t *testing.T) {
	p := &Proposal{Marks: &reading.Marks{}}
	err := p.Faces(asked(t, "shoulder-flexion"))
	require.ErrorContains(t, err, "the picture does not show whether the chest faces left or right")
	var hinted interface{ Hint() string }
	require.ErrorAs(t, err, &hinted)
	assert.Contains(t, hinted.Hint(), "from the side")
	require.NoError(t, p.Faces(asked(t, "leg-separation")))
	p.Marks.Facing = "left"
	require.NoError(t, p.Faces(asked(t, "shoulder-flexion")))
}

func TestParseAthlete(t *testing.T) {
	a, err := ParseAthlete("812,344@20")
	require.NoError(t, err)
	assert.True(t, a.Given && a.Frame == 20 && a.At.X == 812 && a.At.Y == 344)
	a, err = ParseAthlete("")
	require.NoError(t, err)
	assert.False(t, a.Given)
	for _, bad := range []string{"812", "x,y", "1,2@-3", "1,2,3"} {
		_, err := ParseAthlete(bad)
		assert.ErrorContains(t, err, "is no place", bad)
	}
}

// writeWall writes a picture of a wall.
func writeWall(t *testing.T, path string) {
	m := image.NewRGBA(image.Rect(0, 0, 640, 480))
	for i := range m.Pix {
		m.Pix[i] = byte(180 + i/4/640/16)
	}
	writePNG(t, path, m)
}

// With two people in a still the error asks who is meant, and a place on one of them is an
// answer. If the legs are cut off, it is not certain that the whole body of a person is in the picture; for the person pointed at,
// the error names what is missing.
func TestTwoPeopleAndHalfAPerson(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	s, err := scene.Named("leap")
	require.NoError(t, err)
	s.Stickers = nil
	frame, truth := s.Frame(43)
	mark := func(name string) image.Point {
		m, ok := truth.Mark(name)
		require.True(t, ok)
		return image.Pt(int(m.Pixel[0]), int(m.Pixel[1]))
	}
	hip := mark("hip")
	part := image.Rect(hip.X-420, 0, hip.X+420, 700)
	two := image.NewRGBA(image.Rect(0, 0, 2*part.Dx(), part.Dy()))
	draw.Draw(two, image.Rect(0, 0, part.Dx(), part.Dy()), frame, part.Min, draw.Src)
	draw.Draw(two, image.Rect(part.Dx(), 0, 2*part.Dx(), part.Dy()), frame, part.Min, draw.Src)
	path := filepath.Join(t.TempDir(), "two.png")
	writePNG(t, path, two)
	tk := opened(t, path)
	_, err = New(Options{}).Propose(t.Context(), tk, asked(t, "hip-split"), Athlete{}, nil)
	require.ErrorContains(t, err, "two people are seen")
	for k := range 2 {
		at := hip.Sub(part.Min).Add(image.Pt(k*part.Dx(), 0))
		p, err := New(Options{}).Propose(t.Context(), tk, asked(t, "hip-split"), Athlete{At: geometry.Point{X: float64(at.X), Y: float64(at.Y - 40)}, Given: true}, nil)
		require.NoError(t, err)
		for _, m := range p.Marks.Marks {
			if m.Landmark == "hip" {
				assert.InDelta(t, at.X, m.X, 30)
				assert.InDelta(t, at.Y, m.Y, 30)
			}
		}
	}

	half := image.NewRGBA(image.Rect(0, 0, 700, hip.Y+20))
	draw.Draw(half, half.Rect, frame, image.Pt(hip.X-180, 0), draw.Src)
	path = filepath.Join(t.TempDir(), "half.png")
	writePNG(t, path, half)
	tk = opened(t, path)
	_, err = New(Options{}).Propose(t.Context(), tk, asked(t, "hip-split"), Athlete{}, nil)
	require.EqualError(t, err, `something is seen in "half.png", but it is not certain that it is a person whose whole body is in the picture`)
	at := Athlete{At: geometry.Point{X: 180, Y: float64(hip.Y - 100)}, Given: true}
	_, err = New(Options{}).Propose(t.Context(), tk, asked(t, "hip-split"), at, nil)
	require.ErrorContains(t, err, "ankle")
	require.ErrorContains(t, err, "the picture does not show")
}

func writePNG(t *testing.T, path string, m image.Image) {
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, png.Encode(f, m))
}

// The error names an ecart-see of another version, which answers nothing or with an error of OpenCV; its words are not shown.
func TestOtherVersionOfEcartSee(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	path := filepath.Join(t.TempDir(), "wall.png")
	writeWall(t, path)
	loaded := `printf 'ECN1\0\0\0\002\0\0\0\0{}'` + "\n"
	for what, script := range map[string]string{
		"an error for the network": `printf 'ECN1\0\0\0\030\0\0\0\0{"error":"(-215:Assert"}  '`,
		"an error for the picture": loaded + `printf 'ECP1\0\0\0\030\0\0\0\0{"error":"(-215:Assert"}  '`,
		"no values":                loaded + `printf 'ECP1\0\0\0\002\0\0\0\0{}'`,
		"zeros":                    `head -c 1000 /dev/zero`,
	} {
		see := filepath.Join(t.TempDir(), "see")
		require.NoError(t, os.WriteFile(see, []byte("#!/bin/sh\n"+script+"\ncat >/dev/null\n"), 0o700))
		t.Setenv("ECART_SEE", see)
		_, err := New(Options{}).Propose(t.Context(), opened(t, path), asked(t, "hip-split"), Athlete{}, nil)
		assert.EqualError(t, err, `the program that runs the pose network, ecart-see, gave no answer for "wall.png"`, what)
	}
}
