package take

import (
	"cmp"
	"context"
	"errors"
	"io"
	"math"
	"slices"
	"sort"

	"ecart/vision/internal/av"
	"ecart/vision/internal/hevc"
)

// stamp is a coded picture: its time stamp in ticks, and its place in decoding order.
type stamp struct {
	pts int64
	pos int
}

// key is a packet at which decoding may start clean.
type key struct {
	stamp
	dts int64
}

// index numbers the frames of a clip.
type index struct {
	frames []stamp // in the order of showing; pos is unused where counted
	all    []stamp // every packet by pts, including those that are not shown
	order  []int64 // time stamps of all packets in decoding order
	keys   []key   // in decoding order, their time stamps rising
	start  key     // the first packet

	packets int   // number of packets to decode; any after them are incomplete
	last    int64 // duration of the last frame, ticks, 0 unknown
	torn    bool  // the file is cut short
	listed  int   // packets in the file's own list, 0 unknown
	counted bool  // frames are numbered by counting a straight decode
	judged  bool  // the coded pictures can be judged by themselves
}

const (
	// maxReorder is the largest allowed difference between a packet's places in decoding order and in
	// the order of showing. H.264 and HEVC hold back at most 16 pictures; a difference of more than
	// twice that means that the time stamps jump.
	maxReorder = 32

	// probed is the number of packets that decide whether the pictures of a clip can be judged: at least half of
	// them must be whole. A damaged picture passes as whole about once in a thousand times, and a file is rarely
	// damaged in half of its first pictures. If it is, the clip counts as one that cannot be judged.
	probed = 8

	// contextEvery is the number of packets read between two checks of the context.
	contextEvery = 256
)

// numbered lists the codecs whose packets each hold exactly one shown picture.
var numbered = []string{"h264", "hevc", "av1", "vp9", "mjpeg", "prores"}

type packet struct {
	pts, dts, duration  int64
	key, shown, corrupt bool
}

// readIndex reads every packet of the clip, without decoding.
func readIndex(ctx context.Context, name string, clip *av.Clip) (*index, error) {
	stream := clip.Stream()
	var probe *judge
	if stream.Codec == "hevc" {
		probe = newJudge(clip.Config())
	}
	whole := 0
	var packets []packet
	torn := false
	for {
		if len(packets)%contextEvery == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		p, err := clip.Read()
		if err != nil && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			torn = torn || !errors.Is(err, io.EOF)
			break
		}
		if len(packets) == maxPackets {
			return nil, tooLong(name)
		}
		if probe != nil && len(packets) < probed && probe.check(p.Data) == hevc.Whole {
			whole++
		}
		torn = p.Corrupt // counts only for the last packet
		packets = append(packets, packet{
			pts: p.PTS, dts: p.DTS, duration: p.Duration,
			key:   p.Key && cleanStart(stream.Codec, p.Data, stream.NALLength),
			shown: !p.Discard && len(p.Data) > 0, corrupt: p.Corrupt,
		})
	}
	if len(packets) < stream.Listed {
		torn = true
	} else if stream.Listed == 0 && len(packets) > 0 {
		torn = torn || endsEarly(stream, packets)
	}
	x := &index{listed: stream.Listed, torn: torn, packets: len(packets), judged: whole > 0 && 2*whole >= min(len(packets), probed)}
	if len(packets) == 0 {
		return x, nil
	}
	x.start = key{stamp{packets[0].pts, 0}, packets[0].dts}
	if stream.NoTimes || stream.Interlaced || stream.Container == "avi" || !slices.Contains(numbered, stream.Codec) || !x.fill(packets) {
		x.counted, x.frames, x.all, x.order, x.keys = true, nil, nil, nil, nil
	}
	return x, nil
}

// endsEarly reports whether a file without a list of its packets declares a duration more than two
// seconds longer than its pictures last. Sound alone may outlast the pictures by up to that.
func endsEarly(s av.Stream, packets []packet) bool {
	const slack = 2
	end := int64(0)
	for _, p := range packets {
		if p.pts != av.NoTime {
			end = max(end, p.pts-max(packets[0].pts, 0)+p.duration)
		}
	}
	return s.Seconds > 0 && float64(end)*float64(s.TimeNum)/float64(s.TimeDen) < s.Seconds-slack
}

// fill numbers the frames by their time stamps. It reports false if the time stamps do not allow that.
func (x *index) fill(packets []packet) bool {
	if x.torn {
		// Some lost pictures may be shown before others that are present. Each lost one is
		// decoded after the last complete packet, and is shown no earlier than it is decoded, so
		// that only frames shown before that time are certain.
		last := packets[x.packets-1]
		due := last.dts + 1
		if last.corrupt {
			due = last.dts
			x.packets--
			packets = packets[:x.packets]
		}
		if last.dts != av.NoTime {
			for i := range packets {
				packets[i].shown = packets[i].shown && packets[i].pts < due
			}
		}
	}
	x.all, x.order = make([]stamp, len(packets)), make([]int64, len(packets))
	for i, p := range packets {
		if p.pts == av.NoTime {
			return false
		}
		x.all[i], x.order[i] = stamp{p.pts, i}, p.pts
	}
	if !arrange(x.all) {
		return false
	}
	for i, s := range x.all {
		twin := i > 0 && x.all[i-1].pts == s.pts || i+1 < len(x.all) && x.all[i+1].pts == s.pts
		p := packets[s.pos]
		if p.shown {
			if twin {
				return false
			}
			x.frames = append(x.frames, s)
			x.last = p.duration
		}
		packets[s.pos].key = p.key && !twin
	}
	for pos, p := range packets {
		if p.key && (len(x.keys) == 0 || p.pts > x.keys[len(x.keys)-1].pts) {
			x.keys = append(x.keys, key{stamp{p.pts, pos}, p.dts})
		}
	}
	return true
}

// arrange sorts packets, given in decoding order, by their time stamps; equal ones stay in decoding order. It
// reports false if one moves by more than maxReorder. It is an insertion sort, since the packets are nearly
// sorted: fewer than 2 maxReorder packets are decoded before a given one and shown after it, as each of
// them and the packet itself move by at most maxReorder.
func arrange(all []stamp) bool {
	for i, s := range all {
		j := i
		for ; j > 0 && all[j-1].pts > s.pts; j-- {
			if i-j == 2*maxReorder {
				return false
			}
			all[j] = all[j-1]
		}
		all[j] = s
	}
	for rank, s := range all {
		if moved := rank - s.pos; moved > maxReorder || moved < -maxReorder {
			return false
		}
	}
	return true
}

// search finds a time stamp in a list sorted by time stamp, as slices.BinarySearch does.
func search(list []stamp, pts int64) (int, bool) {
	return slices.BinarySearchFunc(list, pts, func(s stamp, pts int64) int { return cmp.Compare(s.pts, pts) })
}

// find returns the number of the frame with the time stamp, or false if there is none.
func (x *index) find(pts int64) (int, bool) {
	return search(x.frames, pts)
}

// place returns the place in decoding order of the packet with the time stamp, or -1 if there is no such
// packet or more than one.
func (x *index) place(pts int64) int {
	i, ok := search(x.all, pts)
	if !ok || i+1 < len(x.all) && x.all[i+1].pts == pts {
		return -1
	}
	return x.all[i].pos
}

// lastFor returns the place in decoding order of the last packet that the decoder needs in order to put
// out all frames up to frame i.
func (x *index) lastFor(i int) int {
	if x.counted || i+1 >= len(x.frames) {
		return x.packets - 1
	}
	rank, _ := search(x.all, x.frames[i].pts)
	last := 0
	for _, s := range x.all[max(0, rank-2*maxReorder) : rank+1] {
		last = max(last, s.pos)
	}
	return last
}

// before returns the index in keys of the last key from which frame i decodes as in a decode from the
// start, or -1 for the start of the file. A picture that is decoded after a key and shown before it may
// need packets before the key, so that the key must be shown no later than the frame.
func (x *index) before(i int) int {
	return sort.Search(len(x.keys), func(k int) bool { return x.keys[k].pts > x.frames[i].pts }) - 1
}

// cleanAfter returns the time stamp from which on no picture is predicted from the one at place pos in
// decoding order, or math.MaxInt64 if there is no such time stamp.
func (x *index) cleanAfter(pos int) int64 {
	k := sort.Search(len(x.keys), func(k int) bool { return x.keys[k].pos > pos })
	if k > 0 && x.order[pos] < x.keys[k-1].pts { // decoded after a clean start and shown before it
		k--
	}
	if k == len(x.keys) {
		return math.MaxInt64
	}
	return x.keys[k].pts
}

// startAt drops the frames before pts and returns their number. A decode from the start does not give them:
// they need pictures from before the clip, or the file is damaged.
func (x *index) startAt(pts int64) int {
	i, _ := x.find(pts)
	x.frames = x.frames[i:]
	return i
}
