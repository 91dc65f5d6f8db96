package desk

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/sticker"
)

// A landmark in several marks files is one sticker in several frames; of several placements in one file, the first counts.
func TestSeedsOfSeveralFrames(t *testing.T) {
	at := func(landmark string, x float64) reading.Placement { return reading.Placement{Landmark: landmark, X: x} }
	got := Seeds(&reading.Marks{Frame: 5, Marks: []reading.Placement{at("hip", 1), at("hip", 2), at("knee", 3)}},
		&reading.Marks{Frame: 9, Marks: []reading.Placement{at("ankle", 4), at("hip", 6), at("hip", 7)}})
	assert.Equal(t, []sticker.Seed{
		{Name: "hip", At: geometry.Point{X: 1}, Frame: 5, Also: []sticker.Pointing{{At: geometry.Point{X: 6}, Frame: 9}}},
		{Name: "knee", At: geometry.Point{X: 3}, Frame: 5},
		{Name: "ankle", At: geometry.Point{X: 4}, Frame: 9},
	}, got)
}

// What was followed until a sticker was lost for good is kept, also by errors that wrap this one; that of other errors is not.
func TestLostBeforeEnd(t *testing.T) {
	track := &reading.Track{Frames: []reading.TrackFrame{{}}}
	lost := fmt.Errorf("leap.mp4: %w", &sticker.Error{Problem: sticker.NeverFound})
	assert.True(t, LostBeforeEnd(lost, track))
	assert.False(t, LostBeforeEnd(lost, &reading.Track{}))
	assert.False(t, LostBeforeEnd(&sticker.Error{Problem: sticker.NoSticker}, track))
}
