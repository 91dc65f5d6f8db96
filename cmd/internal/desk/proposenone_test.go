package desk

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/needs"
	"ecart/cmd/internal/trial/scene"
	"ecart/vision/pose/model"
)

// elsewhere is a motion 50 m beside the picture.
type elsewhere struct{ scene.Motion }

func (e elsewhere) At(t float64) scene.Pose {
	p := e.Motion.At(t)
	p.Hips.X += 50
	return p
}

// legsOutside turns the camera up until even at the top of the leap hips and legs are below the picture.
func legsOutside(s *scene.Scene) {
	hip, _ := s.Truth(s.PeakFrame()).Mark("hip")
	s.Camera.CY += float64(s.Camera.Height) + 25 - hip.Pixel[1]
}

// What is wrong with a clip is one line, and another one says what to do: nobody in it, somebody whose legs are outside the
// picture, and two who move.
func TestClipsOfWhichNothingIsProposed(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	for _, c := range []struct {
		name, scene string
		change      func(*scene.Scene)
		says        string
	}{
		{"hall.mp4", "plain", func(s *scene.Scene) { s.Motion = elsewhere{s.Motion} }, `nobody is seen in "hall.mp4"`},
		{"half.mp4", "plain", legsOutside, `somebody is seen in "half.mp4", but in no frame with all that the angle needs`},
		{"two.mp4", "passer", func(*scene.Scene) {}, `two people are seen in frame`},
	} {
		s, err := scene.Named(c.scene)
		require.NoError(t, err)
		s.Stickers, s.Frames = nil, 60
		k := &s.Camera
		k.Width, k.Height = k.Width/3, k.Height/3
		k.Focal, k.CX, k.CY = k.Focal/3, (k.CX+0.5)/3-0.5, (k.CY+0.5)/3-0.5
		c.change(s)
		path := filepath.Join(t.TempDir(), c.name)
		_, err = s.WriteClip(t.Context(), path, scene.ClipOptions{CRF: 21})
		require.NoError(t, err)
		_, err = New(Options{}).Propose(t.Context(), opened(t, path), asked(t, "hip-split"), Athlete{}, nil)
		require.ErrorContains(t, err, c.says, c.name)
		assert.NotContains(t, err.Error(), "\n", c.name)
		var hinted interface{ Hint() string }
		require.ErrorAs(t, err, &hinted, c.name)
		assert.NotEmpty(t, hinted.Hint(), c.name)
	}
}
