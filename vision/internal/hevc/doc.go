// Package hevc tells whether the coded pictures of an HEVC stream (ITU-T H.265) are whole.
//
// A decoder notices only part of the damage to a picture: wrong bits are decoded into wrong samples as readily as
// right ones. But the entropy code has a sign of its own. After any change of its bits, arithmetic decoding goes out
// of step and stays so. The flag that ends a slice, which stands after each coding tree unit, then comes too early
// or not at all, and the bits left over are not the stop bit and zeros that must follow it. So the package decodes
// the syntax of each slice, without computing a sample, and looks whether it ends where its bytes end and whether
// the slices of a picture follow on each other and fill it.
//
// Not found is a change that leaves the syntax in step: about one in a hundred single bits of slice data, one in a
// thousand changes of several bytes (TestAlteredDataTells has the reasons), and those few bits of a slice header that
// choose a reference picture or set a filter. A stream is not judged if it uses tools beyond the Main and Main 10
// profiles (other chroma formats than 4:2:0 and monochrome, extensions of the parameter sets), or tiles, dependent
// slice segments or samples coded as they are: no encoder at hand makes those, so that decoding them could not be tried.
//
//	bits.go      bit strings and Exp-Golomb codes
//	params.go    sequence and picture parameter sets
//	refs.go      sets of reference pictures
//	header.go    the slice segment header
//	engine.go    the arithmetic decoder and its contexts
//	contexts.go  the initial values of the contexts
//	slice.go     slice data: coding tree units and their rows
//	unit.go      the coding quadtree, coding and prediction units
//	residual.go  the transform tree and the coefficients
//	check.go     Checker: packets in, verdicts out
package hevc
