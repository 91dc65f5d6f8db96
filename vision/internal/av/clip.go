package av

// #cgo pkg-config: libavformat libavcodec libavutil libswscale
// #cgo CFLAGS: -O3 -Wall -Werror=implicit-function-declaration
// #include <stdlib.h>
// #include "clip.h"
import "C"

import (
	"context"
	"errors"
	"io"
	"math"
	"runtime"
	"syscall"
	"unsafe"
)

// NoTime is the value of a missing time stamp.
const NoTime = math.MinInt64

var (
	// ErrNoVideo says that the file is a recording without a video stream.
	ErrNoVideo = errors.New("no video stream")
	// ErrNoDecoder says that the installed libraries cannot decode the codec.
	ErrNoDecoder = errors.New("no decoder for this codec")
	// ErrContent stands for every error code of FFmpeg itself.
	ErrContent = errors.New("its content is damaged, or that of another kind of file")
	// ErrAgain says that the decoder needs another packet before it can put out a picture.
	ErrAgain = errors.New("the decoder needs another packet")
)

func init() { C.ec_listen() }

// Clip is the video stream of one local file, open for reading.
type Clip struct {
	c         *C.ec_clip
	stop      *stop
	maxPixels int64
}

// Stream holds the properties of the video stream as the file states them.
type Stream struct {
	Container, Codec string
	Width, Height    int       // as stored; 0 where the file does not say
	TimeNum, TimeDen int64     // seconds to one tick: TimeNum/TimeDen
	Rate             float64   // average frames per second, 0 unknown
	Bits             int       // per sample, 0 unknown
	NALLength        int       // bytes in a NAL unit's length, 0 for start codes
	Interlaced       bool      // marked as stored in fields
	NoTimes          bool      // a bare stream without time stamps
	HDR              bool      // PQ or HLG transfer
	Matrix           *[9]int32 // display matrix, ISO/IEC 14496-12 8.3.2; nil where there is none
	Listed           int       // packets in the file's own list, 0 where it has none
	Seconds          float64   // declared length of the whole file, negative unknown
}

// Track is a video track that is not read.
type Track struct {
	Width, Height int // as stored; 0 where the file does not say
	Samples       int // pictures, 0 unknown
}

// Packet is one coded picture. Data is valid until the next Read.
type Packet struct {
	PTS, DTS, Duration    int64 // ticks, NoTime unknown
	Key, Discard, Corrupt bool
	Data                  []byte
}

// Shown is a picture that the decoder has put out.
type Shown struct {
	PTS     int64 // as stored, NoTime unknown
	Best    int64 // the library's best guess, NoTime unknown
	Damaged bool  // the decoder reports damage
}

// Open opens the file at path and reads the properties of its streams. It opens only containers that
// hold one recording, never a playlist or an address. A stream that declares pictures of more than
// maxPixels pixels is not decoded.
//
// known is from an earlier Open of the same file and saves most of the work; nil if there was none.
//
// Once ctx has ended, Open, Read and SeekKey end early with an error. Heed sets another context.
func Open(ctx context.Context, path string, maxPixels int, known *Known) (*Clip, error) {
	p := C.CString(path)
	defer C.free(unsafe.Pointer(p))
	var status C.int
	var k *C.ec_known
	if known != nil {
		k = known.k
		defer runtime.KeepAlive(known)
	}
	stop := newStop(ctx)
	c := C.ec_open(p, C.int64_t(maxPixels), k, (*C.int)(stop.flag), &status)
	if c == nil {
		stop.free()
		return nil, failure(status)
	}
	return &Clip{c, stop, int64(maxPixels)}, nil
}

// Heed replaces the context: calls end early once ctx has ended.
func (c *Clip) Heed(ctx context.Context) { c.stop.heed(ctx) }

// Stopped reports whether a call has ended early because its context ended. The position of the clip is then
// unknown, and the clip can only be closed.
func (c *Clip) Stopped() bool { return C.ec_stopped(c.c) != 0 }

// Known holds the properties of a clip's streams that were found when it was opened.
type Known struct{ k *C.ec_known }

// Known returns the properties of the streams, for opening the same file again; nil if there is no memory for them.
func (c *Clip) Known() *Known {
	k := C.ec_know(c.c)
	if k == nil {
		return nil
	}
	out := &Known{k}
	runtime.AddCleanup(out, func(k *C.ec_known) { C.ec_forget(k) }, k)
	return out
}

// Close frees everything except the pictures from Take.
func (c *Clip) Close() {
	C.ec_close(c.c)
	c.c = nil
	c.stop.free()
}

// Stream describes the video stream.
func (c *Clip) Stream() Stream {
	var s C.ec_stream
	C.ec_describe(c.c, &s)
	out := Stream{
		Container:  C.GoString(&s.container[0]),
		Codec:      C.GoString(&s.codec[0]),
		Width:      int(s.width),
		Height:     int(s.height),
		TimeNum:    int64(s.time_num),
		TimeDen:    int64(s.time_den),
		Bits:       int(s.bits),
		NALLength:  int(s.nal_length),
		Interlaced: s.interlaced != 0,
		NoTimes:    s.no_times != 0,
		HDR:        s.hdr != 0,
		Listed:     int(s.listed),
		Seconds:    float64(s.duration_us) / 1e6,
	}
	if s.rate_den > 0 {
		out.Rate = float64(s.rate_num) / float64(s.rate_den)
	}
	if s.has_matrix != 0 {
		out.Matrix = new([9]int32)
		for i, v := range s.matrix {
			out.Matrix[i] = int32(v)
		}
	}
	return out
}

// Config returns a copy of the decoder configuration stored in the file (extradata): for HEVC an hvcC record, or
// parameter sets with start codes. It is empty if the file has none.
func (c *Clip) Config() []byte {
	var size C.int
	p := C.ec_config(c.c, &size)
	if p == nil {
		return nil
	}
	return C.GoBytes(unsafe.Pointer(p), size)
}

// Others returns the other video tracks, which are not read, at most eight. Cover pictures and thumbnails do not
// count.
func (c *Clip) Others() []Track {
	var list [C.EC_OTHERS]C.ec_track
	out := make([]Track, C.ec_others(c.c, &list[0], C.int(len(list))))
	for i := range out {
		out[i] = Track{int(list[i].width), int(list[i].height), int(list[i].samples)}
	}
	return out
}

// Metadata returns the value of a key in the file's or the stream's metadata, or "" if there is
// none.
func (c *Clip) Metadata(key string) string {
	k := C.CString(key)
	defer C.free(unsafe.Pointer(k))
	var buf [256]C.char
	if C.ec_metadata(c.c, k, &buf[0], C.int(len(buf))) == 0 {
		return ""
	}
	return C.GoString(&buf[0])
}

// Read reads the next packet in decoding order. The error is io.EOF at the end of the file, and
// another one if the file is cut short.
func (c *Clip) Read() (Packet, error) {
	var p C.ec_packet
	if err := failure(C.ec_read(c.c, &p)); err != nil {
		return Packet{}, err
	}
	return Packet{
		PTS: int64(p.pts), DTS: int64(p.dts), Duration: int64(p.duration),
		Key:     p.flags&C.EC_KEY != 0,
		Discard: p.flags&C.EC_DISCARD != 0,
		Corrupt: p.flags&C.EC_CORRUPT != 0,
		Data:    unsafe.Slice((*byte)(p.data), int(p.size)),
	}, nil
}

// SeekKey moves to a key packet at or before ts, in ticks, as far as the container can tell, and
// empties the decoder. The caller checks where it has landed.
func (c *Clip) SeekKey(ts int64) error { return failure(C.ec_seek(c.c, C.int64_t(ts))) }

// Start opens the decoder with the given number of threads. It closes a decoder that is open.
func (c *Clip) Start(threads int) error {
	return failure(C.ec_start(c.c, C.int(threads), C.int64_t(c.maxPixels)))
}

// Send hands the packet last read to the decoder.
func (c *Clip) Send() error { return failure(C.ec_send(c.c)) }

// Drain tells the decoder that no packet follows.
func (c *Clip) Drain() error { return failure(C.ec_drain(c.c)) }

// Receive gets the next picture from the decoder. The error is ErrAgain if the decoder needs another packet,
// io.EOF if it has been drained, and another one if a picture could not be decoded.
func (c *Clip) Receive() (Shown, error) {
	var s C.ec_shown
	if err := failure(C.ec_receive(c.c, &s)); err != nil {
		return Shown{}, err
	}
	return Shown{int64(s.pts), int64(s.best), s.damaged != 0}, nil
}

// MostPictures is the largest memory for the pictures of one clip while it is decoded, in bytes.
const MostPictures = C.EC_MOST

// TooLarge returns the size in pixels of a picture for which the decoder was refused memory, since the pictures
// in use would then exceed MostPictures; 0, 0 if none was refused.
func (c *Clip) TooLarge() (w, h int) {
	var width, height C.int
	C.ec_too_large(c.c, &width, &height)
	return int(width), int(height)
}

// Faults returns the time stamps of the packets in which the decoder has found damage since the last
// call. All damage that a picture may show is known once Receive has returned the picture. Pictures that
// are predicted from those of these packets are not listed.
func (c *Clip) Faults() []int64 {
	var pts [C.EC_FAULTS]C.int64_t
	n := C.ec_faults(c.c, &pts[0])
	out := make([]int64, n)
	for i := range out {
		out[i] = int64(pts[i])
	}
	return out
}

func failure(status C.int) error {
	switch status {
	case C.EC_OK:
		return nil
	case C.EC_AGAIN:
		return ErrAgain
	case C.EC_END:
		return io.EOF
	case C.EC_NO_VIDEO:
		return ErrNoVideo
	case C.EC_NO_DECODER:
		return ErrNoDecoder
	}
	if status > 0 { // some calls return a count
		return nil
	}
	if status < 0 && status > -4096 { // FFmpeg's other errors are four letters in a number
		return syscall.Errno(-status)
	}
	return ErrContent
}
