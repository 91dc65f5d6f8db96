package hand

import "math"

// Place is a place on a drawing, x right, y down, by whatever name whoever draws has
// for it.
type Place interface{ ~struct{ X, Y float64 } }

// Scale lays degrees along a line: From at A, To at B. An upright one has A below B,
// which is the larger number.
type Scale struct{ From, To, A, B float64 }

// At returns where v degrees are on the line.
func (k Scale) At(v float64) float64 { return k.A + (k.B-k.A)*(v-k.From)/(k.To-k.From) }

// In reports whether v is on the scale.
func (k Scale) In(v float64) bool { return v >= k.From && v <= k.To }

// Keep returns v where it is on the scale, else the end that it lies beyond.
func (k Scale) Keep(v float64) float64 { return min(max(v, k.From), k.To) }

// PerUnit returns how long a degree, or what else it lays, is on the line.
func (k Scale) PerUnit() float64 { return math.Abs(k.B-k.A) / (k.To - k.From) }
