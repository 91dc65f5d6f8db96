package main

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry/camera"
)

const width, height = 1920, 1080

// reach is half the picture's diagonal, px: where distortion is stated.
var reach = math.Hypot(width, height) / 2

// wide is the focal length of a phone's main camera, 26 mm equivalent, px.
var wide = 26 / math.Hypot(36, 24) * 2 * reach

// class is a way of setting the camera up: the standard deviations of its rotation
// against the plane of motion, degrees.
type class struct {
	name       string
	yaw, pitch float64
	rectangle  bool
}

var classes = []class{
	{"squared", 3, 3, false},
	{"by-eye", 10, 5, false},
	{"unknown", 20, 8, false},
	{"plane", 15, 5, true},
}

// shot is a camera in front of a body, and what the rater knows about it.
type shot struct {
	camera   scene.Camera
	lens     *camera.Lens // the lens file, if there is one
	corners  *[4]scene.Vec
	distance float64
}

const (
	nearest, farthest = 2.5, 8 // m, from the camera to the athlete
	maxRoll           = 4      // degrees, uniform in both directions
	aimX, aimY        = 0.25, 0.12
	fillLow, fillHigh = 0.55, 0.9
	axisOff           = 8 // px, from the picture's middle to the principal point
)

// shoot puts a camera in front of the posed body.
func (d dice) shoot(c class, withLens bool, b scene.Body, j scene.Joints) shot {
	low, high := scene.Vec{X: math.Inf(1), Y: math.Inf(1)}, scene.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, name := range limbLandmarks {
		p, _ := j.At(name)
		low.X, low.Y = math.Min(low.X, p.X), math.Min(low.Y, p.Y)
		high.X, high.Y = math.Max(high.X, p.X), math.Max(high.Y, p.Y)
	}
	middle := low.Add(high).Mul(0.5)
	edge := 0.2 * b.Stature // hands, feet and head extend beyond the landmarks
	size := high.Sub(low).Add(scene.Vec{X: edge, Y: edge})

	s := shot{distance: d.uniform(nearest, farthest)}
	// half of the raters zoom until the body fills the picture, half do not zoom
	focal := wide
	if d.half() {
		focal = s.distance * d.uniform(fillLow, fillHigh) * math.Min(width/size.X, height/size.Y)
	}
	aim := middle.Add(scene.Vec{X: d.normal(0, aimX), Y: d.normal(0, aimY)})
	s.camera = scene.LookAt(width, height, focal, aim, s.distance)
	s.camera.Yaw, s.camera.Pitch = d.normalDeg(0, c.yaw), d.normalDeg(0, c.pitch)
	s.camera.Roll = d.uniform(-maxRoll, maxRoll) * degree
	s.camera.CX += d.normal(0, axisOff)
	s.camera.CY += d.normal(0, axisOff)
	if withLens {
		s.lens = d.lensFile(&s.camera)
	} else {
		s.camera.Lens = d.residualLens(focal)
	}
	if c.rectangle {
		s.corners = d.rectangle(middle.X)
	}
	return s
}

// residualLens is what remains after a phone's own correction: a radial distortion of
// up to one per cent of the picture's height at its corner, in either direction, divided
// between the two lowest terms.
func (d dice) residualLens(focal float64) scene.Lens {
	corner := d.uniform(-0.01, 0.01) * height / reach // as a part of the radius
	r2 := (reach / focal) * (reach / focal)
	share := d.uniform(0, 0.5)
	return scene.Lens{corner * (1 - share) / r2, corner * share / (r2 * r2)}
}

// lensFile returns a lens file with a covariance like that of a calibration from ten
// good pictures: about half a pixel at the corner, 0.2 % for the focal length, k1 and k2
// with a strong negative correlation. The camera's true lens is drawn from it.
func (d dice) lensFile(c *scene.Camera) *camera.Lens {
	f := c.Focal
	r2 := (reach / f) * (reach / f)
	k1, k2 := d.uniform(-0.03, 0.03)/r2, d.uniform(-0.01, 0.01)/(r2*r2)
	l := &camera.Lens{Width: width, Height: height, Fx: f, Fy: f, Cx: c.CX, Cy: c.CY,
		Dist: [5]float64{k1, k2, d.normal(0, 0.0005), d.normal(0, 0.0005), 0}}
	const opposed = -0.95
	sd := [camera.LensParameters]float64{0.002 * f, 0.002 * f, 1.5, 1.5, 1.5 / reach / r2, 1.5 / reach / (r2 * r2), 0.0002, 0.0002, 0}
	cov := mat.NewSymDense(camera.LensParameters, nil)
	for i, u := range sd {
		cov.SetSym(i, i, u*u)
	}
	cov.SetSym(0, 1, sd[0]*sd[1]) // one focal length
	cov.SetSym(4, 5, opposed*sd[4]*sd[5])
	l.Covariance = cov
	z1 := d.NormFloat64()
	z2 := opposed*z1 + math.Sqrt(1-opposed*opposed)*d.NormFloat64()
	c.Focal = d.normal(f, sd[0])
	c.CX, c.CY = d.normal(l.Cx, sd[2]), d.normal(l.Cy, sd[3])
	c.Lens = scene.Lens{k1 + sd[4]*z1, k2 + sd[5]*z2, d.normal(l.Dist[2], sd[6]), d.normal(l.Dist[3], sd[7]), 0}
	return l
}

const (
	matWidth, matHeight = 2.4, 1.2 // m
	matYaw, matPitch    = 2, 1     // degrees, of the plane of motion against the rectangle
	matLevel            = 0.5      // degrees, of its foot on the floor
)

// rectangle returns the corners of a rectangle on the floor behind the athlete, nearly
// parallel to the motion: top left, top right, bottom right, bottom left as the camera
// sees it.
func (d dice) rectangle(x float64) *[4]scene.Vec {
	yaw, pitch, roll := d.normalDeg(0, matYaw), d.normalDeg(0, matPitch), d.normalDeg(0, matLevel)
	foot := scene.Vec{X: x + d.normal(0, 0.2), Z: d.uniform(-0.8, -0.2)}
	across := scene.Vec{X: math.Cos(yaw), Y: math.Sin(roll), Z: math.Sin(yaw)}.Unit()
	away := scene.Vec{X: -math.Sin(yaw), Z: math.Cos(yaw)}
	up := scene.Vec{Y: math.Cos(pitch)}.Add(away.Mul(math.Sin(pitch)))
	up = up.Sub(across.Mul(up.Dot(across))).Unit()
	w, h := across.Mul(matWidth/2), up.Mul(matHeight)
	return &[4]scene.Vec{foot.Sub(w).Add(h), foot.Add(w).Add(h), foot.Add(w), foot.Sub(w)}
}

// click is the standard deviation of a mark placed by hand, each axis, px.
var click = 1.5

// seen returns where a person puts the mark for a point in space; false outside the
// picture.
func (d dice) seen(c scene.Camera, p scene.Vec) (reading.Pixel, bool) {
	x, y, ok := c.Project(p)
	x, y = d.normal(x, click), d.normal(y, click)
	return reading.Pixel{x, y}, ok && x >= 0 && y >= 0 && x <= width-1 && y <= height-1
}
