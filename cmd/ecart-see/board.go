package main

import (
	"fmt"
	"image"
	"math"
	"runtime"

	"gocv.io/x/gocv"

	"ecart/vision/see"
)

// Half the side of the window in which a corner is refined: a share of the distance
// to the nearest corner, so that the window holds no other corner, within limits.
const (
	windowShare = 0.3
	windowLeast = 2 // px
	windowMost  = 15
)

const tiny = 40 // px: in a smaller picture no board is found, and OpenCV's finder fails

// answer looks for a board. It searches a picture scaled down to q.Side, since the
// finder's time grows with the number of pixels, and refines the corners at full size.
func answer(q *see.Question) *see.Answer {
	if min(q.Columns, q.Rows) < see.LeastCorners || max(q.Columns, q.Rows) > see.MostCorners || q.Side < tiny {
		return &see.Answer{Error: fmt.Sprintf("a board has %d to %d corners each way, and is searched in %d pixels or more", see.LeastCorners, see.MostCorners, tiny)}
	}
	if min(q.Width, q.Height) < tiny {
		return &see.Answer{}
	}
	whole, err := gocv.NewMatFromBytes(q.Height, q.Width, gocv.MatTypeCV8UC1, q.Grey)
	if err != nil {
		return &see.Answer{Error: "OpenCV cannot take the picture"}
	}
	defer runtime.KeepAlive(q) // the matrix points into the question's pixels
	defer whole.Close()
	small, sx, sy := whole, 1.0, 1.0
	if long := max(q.Width, q.Height); long > q.Side {
		w, h := max(tiny, q.Width*q.Side/long), max(tiny, q.Height*q.Side/long)
		small = gocv.NewMat()
		defer small.Close()
		gocv.Resize(whole, &small, image.Pt(w, h), 0, 0, gocv.InterpolationArea)
		sx, sy = float64(q.Width)/float64(w), float64(q.Height)/float64(h)
	}
	corners := findBoard(small, q)
	if corners == nil {
		return &see.Answer{}
	}
	if sx != 1 || sy != 1 {
		refine(small, q, corners)
		for i, p := range corners { // (0, 0) is the centre of a pixel
			corners[i] = [2]float64{(p[0]+0.5)*sx - 0.5, (p[1]+0.5)*sy - 0.5}
		}
	}
	refine(whole, q, corners)
	return &see.Answer{Corners: corners}
}

// findBoard returns the board's inner corners to about a pixel, or nil if there is no board.
func findBoard(picture gocv.Mat, q *see.Question) [][2]float64 {
	size := image.Pt(q.Columns, q.Rows)
	at := gocv.NewMat()
	defer at.Close()
	var found bool
	if q.Thorough {
		found = gocv.FindChessboardCornersSB(picture, size, &at, gocv.CalibCBNormalizeImage|gocv.CalibCBExhaustive|gocv.CalibCBAccuracy)
	} else {
		found = gocv.FindChessboardCorners(picture, size, &at, gocv.CalibCBAdaptiveThresh|gocv.CalibCBNormalizeImage|gocv.CalibCBFastCheck)
	}
	if !found || at.Total() != q.Columns*q.Rows {
		return nil
	}
	out := make([][2]float64, at.Total())
	for i := range out {
		v := at.GetVecfAt(i, 0)
		out[i] = [2]float64{float64(v[0]), float64(v[1])}
	}
	return out
}

// refine moves each corner to the saddle of the grey values around it.
func refine(picture gocv.Mat, q *see.Question, corners [][2]float64) {
	until := gocv.NewTermCriteria(gocv.Count|gocv.EPS, 60, 1e-4)
	windows := make([]int, len(corners))
	for i := range corners {
		windows[i] = min(max(int(math.Round(windowShare*nearest(corners, q.Columns, i))), windowLeast), windowMost)
	}
	at := gocv.NewMatWithSize(1, 1, gocv.MatTypeCV32FC2)
	defer at.Close()
	for i, p := range corners {
		at.SetFloatAt(0, 0, float32(p[0]))
		at.SetFloatAt(0, 1, float32(p[1]))
		gocv.CornerSubPix(picture, &at, image.Pt(windows[i], windows[i]), image.Pt(-1, -1), until)
		v := at.GetVecfAt(0, 0)
		corners[i] = [2]float64{float64(v[0]), float64(v[1])}
	}
}

// nearest returns the distance from a corner to its nearest neighbour on the board, px.
func nearest(corners [][2]float64, columns, i int) float64 {
	near := math.Inf(1)
	consider := func(exists bool, at int) {
		if exists {
			near = math.Min(near, math.Hypot(corners[at][0]-corners[i][0], corners[at][1]-corners[i][1]))
		}
	}
	column := i % columns
	consider(column > 0, i-1)
	consider(column < columns-1, i+1)
	consider(i >= columns, i-columns)
	consider(i+columns < len(corners), i+columns)
	return near
}
