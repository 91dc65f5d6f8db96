// Package movement has the tables of what takes can show, and their look-ups. It measures nothing.
//
//	Conditions  what moved the limb
//	Variant     a position that differs from a measure's usual one
//	Movement    what a screen is of
//	Contrast    two positions that differ in one thing
//	Card        how a take is made: a protocol card
package movement

import (
	"slices"
	"strings"
)

// The conditions of a take: what moved the limb.
const (
	Passive = "passive"  // a helper or gravity
	Active  = "active"   // own strength, held
	InSkill = "in-skill" // in the element
	Swung   = "swung"    // thrown, and helped by its own speed: the widest moment is not held
)

// Conditions lists all conditions.
var Conditions = []string{Passive, Active, InSkill, Swung}

// Variant is a position of the body in which a measure is read and which is not the measure's
// usual one. Readings of unlike variants are never put into one trend or screen.
type Variant struct {
	Name    string // as typed: "knee-bent"
	Measure string // the measure that it belongs to
	Words   string // as printed after the measure's title
	Thigh   bool   // the leg is read from hip to knee, since the knee may be bent
}

var variants = []Variant{
	{"front", "leg-rise", "to the front", false},
	{"side", "leg-rise", "to the side", false},
	{"back", "leg-rise", "to the back", false},
	{"bridge", "shoulder-flexion", "in a bridge", false},
	{"bridge-feet-raised", "shoulder-flexion", "in a bridge, feet raised", false},
	{"arm-turned-out", "shoulder-flexion", "arm turned out", false},
	{"arm-turned-in", "shoulder-flexion", "arm turned in", false},
	{"back-flat", "shoulder-flexion", "lower back held flat", false},
	{"back-free", "shoulder-flexion", "lower back free", false},
	{"elbow-straight", "shoulder-flexion", "elbow straight", false},
	{"elbow-bent", "shoulder-flexion", "elbow bent", false},
	{"knee-straight", "hip-flexion", "knee straight", true},
	{"knee-bent", "hip-flexion", "knee bent", true},
	{"knee-straight", "hip-extension", "knee straight", true},
	{"knee-bent", "hip-extension", "knee bent", true},
	{"knee-straight", "foot-point", "knee straight", false},
	{"knee-bent", "foot-point", "knee bent", false},
	{"seated", "leg-separation", "seated", false},
	{"lying", "leg-separation", "lying on the back", false},
}

// Variants returns the variants of a measure, or all if it is "".
func Variants(measure string) []Variant {
	return slices.DeleteFunc(slices.Clone(variants), func(v Variant) bool { return measure != "" && v.Measure != measure })
}

// VariantNames returns the names of the variants of a measure, or of all if it is "".
func VariantNames(measure string) (out []string) {
	for _, v := range Variants(measure) {
		out = append(out, v.Name)
	}
	return out
}

// FindVariant returns the variant of a measure with this name.
func FindVariant(measure, name string) (Variant, bool) {
	i := slices.IndexFunc(variants, func(v Variant) bool { return v.Measure == measure && v.Name == name })
	if i < 0 {
		return Variant{}, false
	}
	return variants[i], true
}

// VariantWords returns the words of a variant: "" for none, and the name itself, with spaces, for one that
// is unknown.
func VariantWords(measure, name string) string {
	if v, ok := FindVariant(measure, name); ok {
		return v.Words
	}
	return strings.ReplaceAll(name, "-", " ")
}
