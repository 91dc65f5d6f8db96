package calibrate

import "ecart/geometry"

// start is where the fit begins: OpenCV's estimate with one term of distortion,
// which no picture bends out of shape.
func start(b Board, views [][]geometry.Point, width, height int) (*bundle, error) {
	const rounds = 15 // the fit goes on from there
	cv, err := calibrateCamera(b, views, width, height, cvNoTangential|cvFixK2|cvFixK3, rounds)
	if err != nil {
		return nil, err
	}
	u := &bundle{board: b.sheet(), seen: views, sigma: 1}
	copy(u.common[:], cv.parameters[:])
	for v := range views {
		p := cv.poses[6*v:]
		at := pose{rotation(vec{p[0], p[1], p[2]}), vec{p[3], p[4], p[5]}}
		at.t = at.t.plus(at.turn(vec{float64(b.Columns-1) / 2, float64(b.Rows-1) / 2}), 1) // to the board's middle
		u.poses = append(u.poses, at)
	}
	u.prior = newPrior(width, height, (u.common[fx]+u.common[fy])/2)
	return u, nil
}
