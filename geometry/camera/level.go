package camera

import (
	"errors"
	"math"

	"ecart/geometry"
)

// ErrShort says that two level marks coincide and give no direction.
var ErrShort = errors.New("the two level marks are on one spot")

// ErrSlanted says that the line through two level marks is more than slantLimit from
// both the horizontal and the vertical.
var ErrSlanted = errors.New("the level marks lie on a slanted line")

// slantLimit is the largest angle allowed between the line of two level marks and the
// nearer of horizontal and vertical: nobody holds a phone 30 degrees off, so such a
// line was marked on something that is not level.
const slantLimit = 30 * geometry.Degree

// Level returns the camera's roll from two pixels on something horizontal or vertical
// (the nearer of the two is assumed), and the standard uncertainty of the roll from
// that of the pixels, sdPx (px, each axis). Roll is positive where a level line
// rises to the right in the picture.
func Level(a, b geometry.Point, sdPx float64) (roll, standard geometry.Angle, err error) {
	dx, dy := b.X-a.X, a.Y-b.Y
	length := math.Hypot(dx, dy)
	if !(length > 0) {
		return 0, 0, ErrShort
	}
	roll = geometry.Angle(math.Atan2(dy, dx))
	quarter := geometry.Angle(math.Pi / 2)
	roll -= quarter * geometry.Angle(math.Round(float64(roll/quarter)))
	if roll > slantLimit || roll < -slantLimit {
		return 0, 0, ErrSlanted
	}
	return roll, geometry.Angle(math.Sqrt2 * sdPx / length), nil
}
