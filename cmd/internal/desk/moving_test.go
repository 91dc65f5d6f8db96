package desk_test

import (
	"image"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
)

// noisy returns n pictures of 160 by 90 with a block of 20 by 30 at where(i), and camera noise.
func noisy(n int, where func(i int) image.Point, pan int) []*image.Gray {
	r := rand.New(rand.NewPCG(7, 0))
	var out []*image.Gray
	for i := range n {
		g := image.NewGray(image.Rect(0, 0, 160, 90))
		at := where(i)
		for y := range 90 {
			for x := range 160 {
				v := 120 + 60*(((x+pan*i)/8+y/8)%2) + r.IntN(5)
				if image.Pt(x, y).In(image.Rect(at.X, at.Y, at.X+20, at.Y+30)) {
					v = 30 + r.IntN(5)
				}
				g.Pix[y*g.Stride+x] = uint8(v)
			}
		}
		out = append(out, g)
	}
	return out
}

func TestMoving(t *testing.T) {
	parts := desk.Moving(noisy(30, func(i int) image.Point { return image.Pt(4*i, 40) }, 0))
	require.Len(t, parts, 30)
	for i, p := range parts {
		assert.Equal(t, parts[0].Size(), p.Size(), "all of one size")
		if i > 1 && i < 28 {
			at := image.Rect(4*i, 40, 4*i+20, 70)
			assert.True(t, at.In(p.Inset(-3)), "picture %d: %v in %v", i, at, p)
		}
		assert.True(t, p.In(image.Rect(0, 0, 160, 90)))
	}
	assert.Less(t, parts[0].Dx(), 60)

	still := func(int) image.Point { return image.Pt(50, 40) }
	assert.Nil(t, desk.Moving(noisy(30, still, 0)), "nobody moves")
	assert.Nil(t, desk.Moving(noisy(30, still, 3)), "the camera moves")
	assert.Nil(t, desk.Moving(noisy(2, still, 0)), "too few")
	assert.Nil(t, desk.Moving(nil))
}
