package sticker

// #include "light.h"
import "C"

import "unsafe"

// colours is a row of light for C: three floats a pixel.
func colours(light [][3]float32) *C.float { return (*C.float)(unsafe.Pointer(unsafe.SliceData(light))) }

func codes(pix []byte) *C.uint8_t { return (*C.uint8_t)(unsafe.SliceData(pix)) }

// linearise fills light from pixels of four bytes.
func linearise(light [][3]float32, pix []byte) {
	if len(light) > 0 {
		_ = pix[4*len(light)-1]
		C.light_decode((*C.float)(&linear[0]), codes(pix), C.int(len(light)), colours(light))
	}
}

func (t *target) asked() C.light_target {
	return C.light_target{u: C.float(t.u), v: C.float(t.v), y: C.float(t.y), near: C.float(t.near), bright: C.float(t.bright)}
}

// scores fills how well each pixel's light fits: 1 for the very colour, 0 for all that is three
// standard deviations away. It returns the best.
func (t *target) scores(light [][3]float32, score []float32) float32 {
	c, best := t.asked(), C.float(0)
	C.light_score(&c, colours(light), C.int(len(light)), (*C.float)(unsafe.SliceData(score)), &best)
	return float32(best)
}

// scoresCoded is scores of coded pixels.
func (t *target) scoresCoded(pix [][4]byte, score []float32) float32 {
	c, best := t.asked(), C.float(0)
	C.light_score_coded(&c, (*C.float)(&linear[0]), (*C.uint8_t)(unsafe.Pointer(unsafe.SliceData(pix))), C.int(len(pix)), (*C.float)(unsafe.SliceData(score)), &best)
	return float32(best)
}

// realign moves the colours back to where they belong.
func (w *window) realign() {
	w.spare = fit(w.spare, 3*(len(w.light)+w.Dx()+C.LIGHT_MORE))
	C.light_realign((*C.float)(&linearFine[0]), finer, codes(w.coded.Pix), C.int(w.Dx()), C.int(w.Dy()), C.float(w.shift[0]), C.float(w.shift[1]),
		base(w.spare), colours(w.light))
}
