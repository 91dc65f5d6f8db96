package main

import (
	"math/rand/v2"

	"ecart/cmd/internal/trial/scene"
)

// dice is the random source of one take. Angles are returned in radians.
type dice struct{ *rand.Rand }

const degree = 0.017453292519943295

func (d dice) normal(mean, sd float64) float64    { return mean + sd*d.NormFloat64() }
func (d dice) uniform(low, high float64) float64  { return low + (high-low)*d.Float64() }
func (d dice) normalDeg(mean, sd float64) float64 { return d.normal(mean, sd) * degree }
func (d dice) half() bool                         { return d.Uint64()&1 == 0 }

// growth is the stature of girls and boys by age: the median in centimetres and
// the coefficient of variation, half a month after each birthday. From the CDC
// 2000 growth charts, table statage (columns M and S); its third column, L, is
// near 1 and taken as 1, which makes the distribution normal.
var growth = map[string][10]struct{ median, variation float64 }{ // ages 8 to 17
	"girl": {{127.83, 0.0460}, {133.13, 0.0469}, {138.21, 0.0487}, {144.26, 0.0505}, {151.49, 0.0486},
		{157.34, 0.0439}, {160.48, 0.0410}, {161.90, 0.0401}, {162.57, 0.0398}, {162.92, 0.0397}},
	"boy": {{128.12, 0.0451}, {133.73, 0.0462}, {138.82, 0.0476}, {143.73, 0.0489}, {149.31, 0.0500},
		{156.41, 0.0503}, {164.14, 0.0489}, {170.14, 0.0459}, {173.61, 0.0431}, {175.34, 0.0414}},
}

// girls is the share of girls; an assumption.
const girls = 0.7

// Bodies differ from the handbook's mean proportions. Segment lengths as a part
// of stature differ between people by some 3 to 5 per cent (standard deviations
// of anthropometric surveys; from memory), widths and thicknesses by more.
const (
	lengthSpread = 0.04
	widthSpread  = 0.07
	girthSpread  = 0.10
)

// hipsAcross is how wide bodies are over the skin at the hips, as a part of stature:
// Drillis and Contini (1966), from memory.
const hipsAcross = 0.191

// athlete draws an athlete of 8 to 17 years, each age with the same probability.
func (d dice) athlete() scene.Body {
	sex := "boy"
	if d.Float64() < girls {
		sex = "girl"
	}
	g := growth[sex][d.IntN(len(growth[sex]))]
	b := scene.NewBody(d.normal(g.median, g.median*g.variation) / 100)
	b.HipFlesh = (hipsAcross*b.Stature - b.HipWidth) / 2
	for _, length := range []*float64{&b.Trunk, &b.UpperArm, &b.Forearm, &b.Thigh, &b.Shank, &b.Foot} {
		*length *= d.normal(1, lengthSpread)
	}
	b.HipWidth *= d.normal(1, widthSpread)
	b.ShoulderWidth *= d.normal(1, widthSpread)
	b.Girth *= d.normal(1, girthSpread)
	return b
}
