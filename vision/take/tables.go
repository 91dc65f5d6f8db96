package take

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
)

// maxPackets bounds the pictures of a clip: 1 h 9 min at 240 a second, 4 h 38 min at 60. Each takes about 120
// bytes in the index, while it is made.
const maxPackets = 1_000_000

// maxEntries bounds what all tables of an MP4 or MOV file list together, edit lists applied: FFmpeg makes a list
// of it with 24 bytes an entry on opening, in one go, and a file of 1 MB can ask for 2 GB and 15 s of that. It is
// room for four tracks with maxPackets each: 96 MB, and 0.1 s.
const maxEntries = 4 * maxPackets

func tooLong(name string) *Error {
	return wrong(fmt.Sprintf("cut out the part that matters; at most %d million pictures are read, more than an hour at 240 a second", maxPackets/1_000_000),
		"%q lists too many pictures, or shows them too often by its edit list", name)
}

// checkTables refuses an MP4 or MOV file whose tables list too much. Of any other file it finds nothing.
func checkTables(ctx context.Context, name, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return wrong("check the right to read it", "%q cannot be opened", name).because(err)
	}
	defer f.Close()
	n, err := entries(ctx, f)
	if err == nil && n > maxEntries {
		err = tooLong(name)
	}
	return err
}

// entries is how many entries the tables of an MP4 or MOV file list, or some number above maxEntries. The error
// is that of ctx.
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

// tables is what the boxes of a file or of one track list.
type tables struct {
	all     int64 // entries, of whole tracks and of fragments
	samples int64
	edits   int64
	sound   bool
	unit    bool // each sample lasts for one tick, so that FFmpeg lists sound in chunks
}

// read adds what a box and those in it list (ISO/IEC 14496-12 8.6 to 8.8). Boxes nest ten deep at most, as for
// FFmpeg.
func (t *tables) read(f *os.File, b fileBox, depth int) {
	number := func(at int64) int64 { // of four bytes, 0 past the end of the box
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

// listed is how many entries FFmpeg may list for a track: an edit may show all of its samples.
func (t *tables) listed() int64 {
	const together = 1024 // samples of sound in a chunk that lists none
	n := t.samples
	if t.sound && t.unit {
		n /= together
	}
	return min(min(n, maxEntries+1)*max(1, t.edits), maxEntries+1)
}
