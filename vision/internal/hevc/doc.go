// Package hevc checks whether the coded pictures of an HEVC stream (ITU-T H.265) are whole.
//
// A decoder notices only part of the damage to a picture: it decodes wrong bits into wrong samples. The entropy code,
// however, shows damage: after a change of its bits, arithmetic decoding loses synchronisation and does not regain it.
// The flag that ends a slice, which follows each coding tree unit, then comes too early or not at all, and the
// remaining bits are not the stop bit and zeros that must follow it. The package therefore decodes the syntax of each
// slice, without computing samples, and checks that it ends at its last byte and that the slices of a picture are
// contiguous and cover it.
//
// Changes that keep the decoder synchronised are not found:
//
//	single bits of slice data     about 1 in 100 (reasons at TestAlteredData)
//	several bytes of slice data   about 1 in 1000
//	slice headers                 the few bits that choose a reference picture or set a filter
//
// A stream is not judged if it uses tools beyond the Main and Main 10 profiles (other chroma formats than 4:2:0 and
// monochrome, extensions of the parameter sets), or tiles, dependent slice segments or PCM samples: no available
// encoder produces those, so decoding them could not be tested.
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
