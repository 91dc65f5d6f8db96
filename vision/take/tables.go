package take

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
)

// maxPackets is the largest number of pictures in a clip: 1 h 9 min at 240 a second, 4 h 38 min at 60. Each
// takes about 120 bytes while the index is built.
const maxPackets = 1_000_000

// maxEntries is the largest total number of entries in the tables of an MP4 or MOV file, with edit lists applied.
// On opening, FFmpeg builds a list of 24 bytes an entry in one go; a file of 1 MB can make that 2 GB and 15 s.
// The limit allows four tracks with maxPackets each: 96 MB and 0.1 s.
const maxEntries = 4 * maxPackets

func tooLong(name string) *Error {
	return newError(fmt.Sprintf("cut out the part that matters; at most %d million pictures are read, more than an hour at 240 a second", maxPackets/1_000_000),
		"%q lists too many pictures, or shows them too often by its edit list", name)
}

// checkTables returns an error for an MP4 or MOV file whose tables have more than maxEntries entries. Other files
// pass.
func checkTables(ctx context.Context, name, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return newError("check the right to read it", "%q cannot be opened", name).withCause(err)
	}
	defer f.Close()
	n, err := entries(ctx, f)
	if err == nil && n > maxEntries {
		err = tooLong(name)
	}
	return err
}

// entries counts the entries in the tables of an MP4 or MOV file. It stops once the count exceeds maxEntries. The
// error is that of ctx.
func entries(ctx context.Context, f *os.File) (int64, error) {
	var t tables
	for b := range fileBoxes(f, 0, math.MaxInt64) {
		if ctx.Err() != nil {
			return 0, ctx.Err()
		}
		if b.kind == "moov" || b.kind == "moof" {
			t.read(f, b, 0)
		}
		if t.all > maxEntries {
			break
		}
	}
	return t.all, nil
}

// tables counts what the boxes of a file or of one track list.
type tables struct {
	all     int64 // entries of complete tracks and of fragments
	samples int64
	edits   int64
	sound   bool
	unit    bool // each sample lasts one tick; FFmpeg then lists sound in chunks
}

// read adds the entries of a box and of the boxes in it (ISO/IEC 14496-12 8.6 to 8.8). Boxes are read to a depth
// of ten, as in FFmpeg.
func (t *tables) read(f *os.File, b fileBox, depth int) {
	number := func(at int64) int64 { // the four bytes at offset at of the box's content, 0 past its end
		var n [4]byte
		if b.from+at+4 > b.to {
			return 0
		}
		if _, err := f.ReadAt(n[:], b.from+at); err != nil {
			return 0
		}
		return int64(binary.BigEndian.Uint32(n[:]))
	}
	switch b.kind {
	case "moov", "moof", "mvex", "traf", "mdia", "minf", "stbl", "edts", "udta", "trak":
		if depth == 10 {
			return
		}
		into := t
		if b.kind == "trak" {
			into = &tables{}
		}
		for c := range fileBoxes(f, b.from, b.to) {
			into.read(f, c, depth+1)
		}
		if b.kind == "trak" {
			t.all += into.all + into.listed()
		}
	case "hdlr":
		if number(4) != 0x64686c72 { // "dhlr", of a QuickTime data reference
			t.sound = number(8) == 0x736f756e // "soun"
		}
	case "stts":
		t.unit = number(4) == 1 && number(12) == 1
	case "stsz", "stz2":
		t.samples = number(8)
	case "elst":
		const least = 12 // bytes of an edit
		t.edits = min(number(4), (b.to-b.from)/least)
	case "trun":
		t.all += min(number(4), maxEntries+1)
	}
}

// listed returns the largest number of entries that FFmpeg may list for a track: each edit may show all samples.
func (t *tables) listed() int64 {
	const chunk = 1024 // samples of sound that FFmpeg puts into one entry
	n := t.samples
	if t.sound && t.unit {
		n /= chunk
	}
	return min(min(n, maxEntries+1)*max(1, t.edits), maxEntries+1)
}
