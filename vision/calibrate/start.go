package calibrate

import (
	"math"

	"ecart/geometry"
)

// start returns the starting point of the fit: square pixels, the principal point in the
// middle of the picture, no distortion, and the focal length and poses from the board's
// homographies (Zhang 2000, A flexible new technique for camera
// calibration, section 3.1, with that principal point).
func start(b Board, views [][]geometry.Point, width, height int) (*bundle, error) {
	u := &bundle{board: b.sheet(), seen: views, sigma: 1}
	flat := make([]geometry.Point, len(u.board))
	for i := range u.board {
		flat[i] = geometry.Point{X: u.board[i].at[0], Y: u.board[i].at[1]}
	}
	middle := geometry.Vec{X: float64(width-1) / 2, Y: float64(height-1) / 2}
	planes := make([]plane, len(views))
	for v, px := range views {
		centred := make([]geometry.Point, len(px))
		for i, p := range px {
			centred[i] = p.Add(middle.Scale(-1))
		}
		var ok bool
		if planes[v], ok = homography(flat, centred); !ok {
			return nil, errNoFit
		}
	}
	f := focal(planes)
	if math.IsNaN(f) {
		f = float64(max(width, height)) // undetermined: the fit will report it
	}
	u.common[fx], u.common[fy], u.common[cx], u.common[cy] = f, f, middle.X, middle.Y
	for v := range planes {
		at, ok := planes[v].pose(f)
		if !ok {
			return nil, errNoFit
		}
		u.poses = append(u.poses, at)
	}
	// The prior of the distortion refers to the corner of the picture and so depends on
	// the focal length. It is computed again with the fitted one.
	u.prior = newPrior(width, height, f)
	if err := u.settle(); err != nil {
		return nil, err
	}
	u.prior = newPrior(width, height, (u.common[fx]+u.common[fy])/2)
	return u, nil
}

// focal returns the focal length in pixels that agrees best with homographies from a
// plane to pixels relative to the principal point; NaN if they do not determine it. The
// columns h and v of a homography are the images of two perpendicular directions of equal
// length. So, with w = 1 / f^2,
//
//	(hx vx + hy vy) w + hz vz = 0
//	(hx^2 + hy^2 - vx^2 - vy^2) w + hz^2 - vz^2 = 0
func focal(planes []plane) float64 {
	numerator, denominator := 0.0, 0.0 // of the least-squares estimate of w
	for _, m := range planes {
		h, v := vec{m[0], m[3], m[6]}, vec{m[1], m[4], m[7]}
		size := h.dot(h) + v.dot(v)
		for _, row := range [2][2]float64{
			{h[0]*v[0] + h[1]*v[1], h[2] * v[2]},
			{(h[0]*h[0] + h[1]*h[1] - v[0]*v[0] - v[1]*v[1]) / 2, (h[2]*h[2] - v[2]*v[2]) / 2},
		} {
			numerator -= row[0] * row[1] / (size * size)
			denominator += row[0] * row[0] / (size * size)
		}
	}
	if !(numerator > 0 && denominator > 0) {
		return math.NaN()
	}
	return math.Sqrt(denominator / numerator)
}

// pose returns the pose of the plane before a camera of focal length f, px.
func (m *plane) pose(f float64) (pose, bool) {
	h, v, t := vec{m[0] / f, m[3] / f, m[6]}, vec{m[1] / f, m[4] / f, m[7]}, vec{m[2] / f, m[5] / f, m[8]}
	size := math.Sqrt(math.Sqrt(h.dot(h) * v.dot(v)))
	if t[2] < 0 {
		size = -size // in front of the camera
	}
	if size == 0 || math.IsNaN(size) {
		return pose{}, false
	}
	scaled := func(a vec) vec { return vec{}.plus(a, 1/size) }
	h, v, t = scaled(h), scaled(v), scaled(t)
	h = vec{}.plus(h, 1/math.Sqrt(h.dot(h)))
	v = v.plus(h, -v.dot(h))
	v = vec{}.plus(v, 1/math.Sqrt(v.dot(v)))
	n := vec{h[1]*v[2] - h[2]*v[1], h[2]*v[0] - h[0]*v[2], h[0]*v[1] - h[1]*v[0]}
	q := pose{t: t}
	for i := range 3 {
		q.r[i] = vec{h[i], v[i], n[i]}
	}
	return q, true
}
