package calibrate

// #cgo pkg-config: opencv4
// #cgo CXXFLAGS: -std=c++11 -O2 -Wall
// #include "opencv.h"
import "C"

import (
	"fmt"
	"unsafe"

	"ecart/geometry"
)

// OpenCV throws exceptions and has matrices to be given back. Both stay in
// opencv.cc: what crosses to Go is arrays of numbers and a text.

// failed is an exception of OpenCV.
func failed(what string, why [C.WHY]C.char) error {
	return fmt.Errorf("OpenCV could not %s: %s", what, C.GoString(&why[0]))
}

func bytesOf(p []byte) *C.uchar             { return (*C.uchar)(unsafe.Pointer(unsafe.SliceData(p))) }
func floatsOf(p []float32) *C.float         { return (*C.float)(unsafe.Pointer(unsafe.SliceData(p))) }
func numbers(p []float64) *C.double         { return (*C.double)(unsafe.Pointer(unsafe.SliceData(p))) }
func (g *grey) c() (*C.uchar, C.int, C.int) { return bytesOf(g.pix), C.int(g.w), C.int(g.h) }

// findBoard finds a board's inner corners, to a pixel or so; nil where there
// are none. sectors chooses the slower finder, which sees boards that the other
// one misses.
func findBoard(g *grey, b Board, sectors bool) ([]geometry.Point, error) {
	var why [C.WHY]C.char
	xy := make([]float32, 2*b.Columns*b.Rows)
	var found, slow C.int
	if sectors {
		slow = 1
	}
	p, w, h := g.c()
	if C.ecart_find(p, w, h, C.int(b.Columns), C.int(b.Rows), slow, floatsOf(xy), &found, &why[0]) == 0 {
		return nil, failed("look for a board", why)
	}
	if found == 0 {
		return nil, nil
	}
	out := make([]geometry.Point, len(xy)/2)
	for i := range out {
		out[i] = geometry.Point{X: float64(xy[2*i]), Y: float64(xy[2*i+1])}
	}
	return out, nil
}

// shrink returns a picture of w by h pixels.
func shrink(g *grey, w, h int) (*grey, error) {
	var why [C.WHY]C.char
	small := &grey{make([]byte, w*h), w, h}
	p, gw, gh := g.c()
	if C.ecart_shrink(p, gw, gh, bytesOf(small.pix), C.int(w), C.int(h), &why[0]) == 0 {
		return nil, failed("make a picture smaller", why)
	}
	return small, nil
}

// saddle moves a corner to the saddle of the grey values within half pixels
// around it.
func saddle(g *grey, at geometry.Point, half int) (geometry.Point, error) {
	var why [C.WHY]C.char
	xy := []float32{float32(at.X), float32(at.Y)}
	p, w, h := g.c()
	if C.ecart_saddle(p, w, h, floatsOf(xy), C.int(half), &why[0]) == 0 {
		return at, failed("refine a corner", why)
	}
	return geometry.Point{X: float64(xy[0]), Y: float64(xy[1])}, nil
}

// Flags of cv::calibrateCamera (opencv2/calib3d.hpp, 4.6).
const (
	cvNoTangential = 0x8
	cvFixK2        = 0x40
	cvFixK3        = 0x80
)

// cvCamera is what cv::calibrateCamera returns.
type cvCamera struct {
	parameters [parameters]float64 // fx fy cx cy k1 k2 p1 p2 k3
	deviations [parameters]float64
	poses      []float64 // rotation vector and translation of each view
	rms        float64   // root mean square distance, px
}

// calibrateCamera estimates a camera with OpenCV. It counts a board's corners
// in squares and pixels in single precision.
func calibrateCamera(b Board, views [][]geometry.Point, width, height, flags, rounds int) (*cvCamera, error) {
	var why [C.WHY]C.char
	var board, seen []float32
	for _, p := range b.corners() {
		board = append(board, float32(p.X), float32(p.Y))
	}
	for _, v := range views {
		for _, p := range v {
			seen = append(seen, float32(p.X), float32(p.Y))
		}
	}
	var camera, bend, rms = make([]float64, 9), make([]float64, 5), make([]float64, 1)
	out := &cvCamera{poses: make([]float64, 6*len(views))}
	if C.ecart_camera(C.int(len(views)), C.int(len(board)/2), floatsOf(board), floatsOf(seen), C.int(width), C.int(height), C.int(flags), C.int(rounds),
		numbers(camera), numbers(bend), numbers(out.poses), numbers(out.deviations[:]), numbers(rms), &why[0]) == 0 {
		return nil, failed("estimate a camera", why)
	}
	out.rms = rms[0]
	out.parameters = [parameters]float64{camera[0], camera[4], camera[2], camera[5], bend[0], bend[1], bend[2], bend[3], bend[4]}
	return out, nil
}

// matrixOf is a camera's matrix and its distortion as OpenCV takes them.
func matrixOf(p [parameters]float64) (matrix, bend []float64) {
	return []float64{p[0], 0, p[2], 0, p[1], p[3], 0, 0, 1}, p[4:]
}

// projectPoints is cv::projectPoints for points in the camera's frame: x right,
// y down, z forwards.
func projectPoints(p [parameters]float64, xyz [][3]float64) ([]geometry.Point, error) {
	var why [C.WHY]C.char
	var flat []float64
	for _, v := range xyz {
		flat = append(flat, v[:]...)
	}
	out := make([]float64, 2*len(xyz))
	m, d := matrixOf(p)
	if C.ecart_project(C.int(len(xyz)), numbers(flat), numbers(m), numbers(d), numbers(out), &why[0]) == 0 {
		return nil, failed("project points", why)
	}
	return pairs(out), nil
}

// undistortPoints is cv::undistortPoints, iterated until it stands still, to
// pixels of the same camera without distortion.
func undistortPoints(p [parameters]float64, px []geometry.Point) ([]geometry.Point, error) {
	var why [C.WHY]C.char
	var flat []float64
	for _, q := range px {
		flat = append(flat, q.X, q.Y)
	}
	out := make([]float64, len(flat))
	m, d := matrixOf(p)
	if C.ecart_straighten(C.int(len(px)), numbers(flat), numbers(m), numbers(d), numbers(out), &why[0]) == 0 {
		return nil, failed("straighten points", why)
	}
	return pairs(out), nil
}

func pairs(flat []float64) []geometry.Point {
	out := make([]geometry.Point, len(flat)/2)
	for i := range out {
		out[i] = geometry.Point{X: flat[2*i], Y: flat[2*i+1]}
	}
	return out
}
