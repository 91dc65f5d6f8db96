package main

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
)

// change is one way to damage a file. It returns the damaged file and a description, which
// is "" where the file has nothing of the kind. It may write to data.
type change func(r *rand.Rand, data []byte) ([]byte, string)

// damage changes a file once or sometimes twice. packetsOnly reports that only coded
// pictures were changed: the numbers, sizes and times of frames are as before.
func damage(r *rand.Rand, name string, data []byte) (out []byte, what string, packetsOnly bool) {
	changes := slices.Clone(inBytes)
	if len(boxesOf(data, 0, len(data))) > 1 {
		changes = slices.Concat(changes, inBoxes, inBoxes, inPackets, inPackets, inPackets)
	} else {
		changes = slices.Concat(changes, inStill, inStill)
	}
	out, packetsOnly = slices.Clone(data), true
	for rounds := 1 + r.IntN(5)/4; rounds > 0; {
		i := r.IntN(len(changes))
		next, description := changes[i](r, slices.Clone(out))
		if description == "" || slices.Equal(next, out) {
			continue
		}
		if packets(data) == nil || i < len(inBytes)+2*len(inBoxes) {
			packetsOnly = false
		}
		if what != "" {
			what += "; "
		}
		out, what = next, what+description
		rounds--
	}
	return out, name + ": " + what, packetsOnly
}

// randomPlace returns a place in n bytes, half of the time among the first 512.
func randomPlace(r *rand.Rand, n int) int {
	if n <= 1 {
		return 0
	}
	if r.IntN(2) == 0 {
		return r.IntN(min(n, 512))
	}
	return r.IntN(n)
}

// extremeNumber returns a number that is likely wrong for a table or a size.
func extremeNumber(r *rand.Rand, was uint32) uint32 {
	return []uint32{0, 1, was + 1, was - 1, was * 2, was / 2, 0x7fffffff, 0x80000000, 0xffffffff, 0xfffffff0, was ^ 1<<r.IntN(32), r.Uint32()}[r.IntN(12)]
}

// inBytes are changes that do not depend on the kind of file.
var inBytes = []change{
	func(r *rand.Rand, d []byte) ([]byte, string) { // cut short
		n := r.IntN(len(d))
		return d[:n], fmt.Sprintf("cut after %d of %d bytes", n, len(d))
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // single bits
		n := 1 + r.IntN(8)
		for range n {
			d[randomPlace(r, len(d))] ^= 1 << r.IntN(8)
		}
		return d, fmt.Sprintf("%d bits turned over", n)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // zeros, as a failed transfer leaves them
		at := randomPlace(r, len(d))
		n := min(len(d)-at, 1+r.IntN(4096))
		clear(d[at : at+n])
		return d, fmt.Sprintf("%d bytes from %d on zeroed", n, at)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // bytes lost
		at := randomPlace(r, len(d))
		n := min(len(d)-at, 1+r.IntN(64))
		return slices.Delete(d, at, at+n), fmt.Sprintf("%d bytes lost at %d", n, at)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // a part twice
		at := randomPlace(r, len(d))
		n := min(len(d)-at, 1+r.IntN(2048))
		return slices.Insert(d, at, slices.Clone(d[at:at+n])...), fmt.Sprintf("%d bytes from %d on twice", n, at)
	},
}

// inBoxes are changes to boxes: their sizes, kinds, order and the numbers in them.
var inBoxes = []change{
	func(r *rand.Rand, d []byte) ([]byte, string) { // a number in any box that has some
		b := anyBox(r, d, func(b *box) bool { return b.kind != "mdat" && b.end-b.body >= 8 })
		if b == nil {
			return d, ""
		}
		at := b.body + 4*r.IntN(min(24, (b.end-b.body)/4))
		was := binary.BigEndian.Uint32(d[at:])
		binary.BigEndian.PutUint32(d[at:], extremeNumber(r, was))
		return d, fmt.Sprintf("%s+%d: %d was %d", b.kind, at-b.body, binary.BigEndian.Uint32(d[at:]), was)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // a number in a table of samples, or in an edit list
		b := anyBox(r, d, func(b *box) bool {
			return slices.Contains([]string{"stts", "ctts", "stss", "stsz", "stsc", "stco", "co64", "elst", "iloc"}, b.kind)
		})
		if b == nil {
			return d, ""
		}
		at := b.body + 4*r.IntN((b.end-b.body)/4)
		was := binary.BigEndian.Uint32(d[at:])
		binary.BigEndian.PutUint32(d[at:], extremeNumber(r, was))
		return d, fmt.Sprintf("%s+%d: %d was %d", b.kind, at-b.body, binary.BigEndian.Uint32(d[at:]), was)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // an edit list: its first entry moved or lengthened
		b := find(boxesOf(d, 0, len(d)), "elst")
		if b == nil || b.end-b.body < 20 {
			return d, ""
		}
		at := b.body + 8 + 4*r.IntN(3)
		was := binary.BigEndian.Uint32(d[at:])
		now := []uint32{was + 1 + r.Uint32N(2000), was / 2, 0xffffffff, r.Uint32N(100000)}[r.IntN(4)]
		binary.BigEndian.PutUint32(d[at:], now)
		return d, fmt.Sprintf("edit list +%d: %d was %d", at-b.body, now, was)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // the size of a box
		b := anyBox(r, d, func(*box) bool { return true })
		was := binary.BigEndian.Uint32(d[b.start:])
		binary.BigEndian.PutUint32(d[b.start:], extremeNumber(r, was))
		return d, fmt.Sprintf("size of %s: %d was %d", b.kind, binary.BigEndian.Uint32(d[b.start:]), was)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // a box made into free space
		b := anyBox(r, d, func(b *box) bool { return b.kind != "mdat" })
		copy(d[b.start+4:], "free")
		return d, fmt.Sprintf("%s renamed", b.kind)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // a box twice
		b := anyBox(r, d, func(b *box) bool { return b.kind != "mdat" })
		return slices.Insert(d, b.end, slices.Clone(d[b.start:b.end])...), fmt.Sprintf("%s twice", b.kind)
	},
	func(r *rand.Rand, d []byte) ([]byte, string) { // the decoder's own header
		b := find(boxesOf(d, 0, len(d)), "avcC", "hvcC")
		if b == nil {
			return d, ""
		}
		n := 1 + r.IntN(3)
		for range n {
			d[b.body+r.IntN(b.end-b.body)] = byte(r.Uint32())
		}
		return d, fmt.Sprintf("%d bytes of %s", n, b.kind)
	},
}

func anyBox(r *rand.Rand, d []byte, fits func(*box) bool) *box {
	boxes := slices.DeleteFunc(flatten(boxesOf(d, 0, len(d))), func(b *box) bool { return !fits(b) })
	if len(boxes) == 0 {
		return nil
	}
	return boxes[r.IntN(len(boxes))]
}

// inPackets are changes to coded pictures only.
var inPackets = []change{
	packetChange("a part altered", func(r *rand.Rand, p []byte) {
		n := 1 + r.IntN(len(p))
		at := r.IntN(len(p) - n + 1)
		for i := at; i < at+n; i++ {
			p[i] = byte(r.Uint32())
		}
	}),
	packetChange("two thirds altered behind its head", func(r *rand.Rand, p []byte) {
		for i := min(len(p), 16) + len(p)/3; i < len(p); i++ {
			p[i] = byte(r.Uint32())
		}
	}),
	packetChange("zeroed from a place on", func(r *rand.Rand, p []byte) { clear(p[r.IntN(len(p)):]) }),
	packetChange("some bytes", func(r *rand.Rand, p []byte) {
		for range 1 + r.IntN(6) {
			p[r.IntN(len(p))] ^= byte(1 + r.IntN(255))
		}
	}),
	packetChange("the length of its first unit", func(r *rand.Rand, p []byte) {
		if len(p) >= 4 {
			binary.BigEndian.PutUint32(p, extremeNumber(r, binary.BigEndian.Uint32(p)))
		}
	}),
	packetChange("the kind of its first unit", func(r *rand.Rand, p []byte) {
		if len(p) > 5 {
			p[4+r.IntN(2)] = byte(r.Uint32())
		}
	}),
	func(r *rand.Rand, d []byte) ([]byte, string) { // two exchanged, as far as the shorter one reaches
		all := packets(d)
		if len(all) < 2 {
			return d, ""
		}
		i, j := r.IntN(len(all)), r.IntN(len(all))
		a, b := d[all[i].from:all[i].to], d[all[j].from:all[j].to]
		n := min(len(a), len(b))
		was := slices.Clone(a[:n])
		copy(a[:n], b[:n])
		copy(b[:n], was)
		return d, fmt.Sprintf("packets %d and %d exchanged", i, j)
	},
}

func packetChange(what string, f func(r *rand.Rand, p []byte)) change {
	return func(r *rand.Rand, d []byte) ([]byte, string) {
		all := packets(d)
		if len(all) == 0 {
			return d, ""
		}
		i := r.IntN(len(all))
		if p := d[all[i].from:all[i].to]; len(p) > 0 {
			f(r, p)
		}
		return d, fmt.Sprintf("packet %d of %d: %s", i, len(all), what)
	}
}
