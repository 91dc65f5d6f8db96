package sticker

import (
	"image"
	"image/color"
	"image/draw"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Where more things have a sticker's ink than are kept, those that look like the sticker are kept: not those that only a mixture of sticker and ground
// would look like, such as wood between a yellow sticker and dark ground.
func TestCandidatesKeptLookLikeTheSticker(t *testing.T) {
	const size, apart = 8, 20 // px
	picture := func(sticker color.RGBA, others int) Picture {
		img := image.NewRGBA(image.Rect(0, 0, 640, 400))
		square := func(x, y int, c color.RGBA) {
			draw.Draw(img, image.Rect(x, y, x+size, y+size), image.NewUniform(c), image.Point{}, draw.Src)
		}
		draw.Draw(img, img.Rect, image.NewUniform(color.RGBA{60, 40, 20, 255}), image.Point{}, draw.Src)
		for k := range others {
			square(10+apart*(k%30), 10+apart*(k/30), color.RGBA{130, 120, 50, 255}) // nearly 2/3 sticker, 1/3 ground
		}
		square(310, 370, sticker)
		return Still(img)
	}
	var q pointer
	f, err := q.at(picture(color.RGBA{165, 160, 65, 255}, 0), ptOf(313, 373))
	require.Nil(t, err)
	s := newScanner([]found{f})
	all := s.scan(picture(color.RGBA{165, 168, 65, 255}, mostCandidates+40))[0]
	require.Len(t, all, mostCandidates)
	assert.Less(t, all[0].at.Sub(ptOf(313.5, 373.5)).Norm(), 0.5, "the sticker comes first")
}
