// Package movement has what is known beforehand about how an angle is shown: the conditions,
// the positions that differ from a measure's usual one (variants), the movements that a screen
// is of, the contrasts between two positions, and how each take is made (protocol cards). It
// is tables and look-ups; nothing in it measures.
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

// Conditions are all of them.
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

// Variants are those of a measure; all where it is "".
func Variants(measure string) []Variant {
	return slices.DeleteFunc(slices.Clone(variants), func(v Variant) bool { return measure != "" && v.Measure != measure })
}

// VariantNames are the names of the variants of a measure; all where it is "".
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

// VariantWords are the words of a variant; "" for none, the name itself for one that is not
// known here.
func VariantWords(measure, name string) string {
	if v, ok := FindVariant(measure, name); ok {
		return v.Words
	}
	return strings.ReplaceAll(name, "-", " ")
}
