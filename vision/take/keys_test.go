package take

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestCleanStarts counts the places in encoded clips where decoding may start. The encoder is
// told where to put its keys: every 15th picture, with no others.
func TestCleanStarts(t *testing.T) {
	const frames, every = 60, 15
	for _, c := range []struct {
		name, file string
		args       []string
		want       int
	}{
		{"H.264 IDR", "a.mp4", x264("keyint=15:min-keyint=15:scenecut=0"), frames / every},
		{"H.264 IDR with start codes", "a.ts", x264("keyint=15:min-keyint=15:scenecut=0"), frames / every},
		{"H.264 recovery points that are exact", "a.mp4", x264("keyint=15:min-keyint=15:scenecut=0:open-gop=1:bframes=3"), frames / every},
		{"H.264 gradual refresh starts clean only once", "a.mp4", x264("keyint=15:bframes=0:intra-refresh=1"), 1},
		{"HEVC IDR", "a.mp4", x265("keyint=15:min-keyint=15:scenecut=0:open-gop=0"), frames / every},
		{"HEVC CRA", "a.mp4", x265("keyint=15:min-keyint=15:scenecut=0:open-gop=1:bframes=3"), frames / every},
		{"every ProRes picture", "a.mov", []string{"-c:v", "prores_ks"}, frames},
	} {
		t.Run(c.name, func(t *testing.T) {
			take := open(t, encode(t, c.file, frames, c.args...))
			assert.Len(t, take.index.keys, c.want)
		})
	}
}

// TestBefore draws an open group by hand: in decoding order I0 P3 B1 B2 I6 B4 B5, where 4 and 5
// are decoded after the key 6 and need 3 from before it.
func TestBefore(t *testing.T) {
	packets := []packet{}
	for pos, pts := range []int64{0, 3, 1, 2, 6, 4, 5} {
		packets = append(packets, packet{pts: pts, dts: int64(pos) - 2, shown: true, key: pts%6 == 0})
	}
	x := &index{packets: len(packets)}
	assert.True(t, x.fill(packets))
	got := []int{}
	for i := range x.frames {
		got = append(got, x.before(i))
	}
	assert.Equal(t, []int{0, 0, 0, 0, 0, 0, 1}, got)
}

// TestUnusableTimes holds that frames are counted where time stamps cannot number them.
func TestUnusableTimes(t *testing.T) {
	fill := func(pts ...int64) bool {
		packets := []packet{}
		for _, p := range pts {
			packets = append(packets, packet{pts: p, shown: true})
		}
		return (&index{packets: len(packets)}).fill(packets)
	}
	assert.True(t, fill(-2, 4, 0, 2))
	assert.False(t, fill(0, 1, 1, 2), "double")
	assert.False(t, fill(0, -1<<63, 2), "missing")
	jump := []int64{}
	for i := range int64(2 * (maxReorder + 2)) {
		jump = append(jump, (i+maxReorder+2)%(2*(maxReorder+2)))
	}
	assert.False(t, fill(jump...), "a jump back further than any reordering")
}

func TestCleanStartOfDamagedPackets(t *testing.T) {
	for _, data := range [][]byte{nil, {}, {0}, {0, 0, 0, 9, 0x65}, {0, 0, 0, 1}, {0xff, 0xff, 0xff, 0xff, 0x65}, {0, 0, 0, 2, 6, 6}, {0, 0, 0, 3, 6, 0xff, 0xff}} {
		for size := range 5 {
			assert.False(t, cleanStart("h264", data, size), "%v %d", data, size)
			assert.False(t, cleanStart("hevc", data, size), "%v %d", data, size)
		}
	}
}

func FuzzCleanStart(f *testing.F) {
	f.Add([]byte{0, 0, 0, 2, 6, 6, 1, 0xc0, 0, 0, 0, 1, 0x65}, 4)
	f.Add([]byte{0, 0, 1, 0x26, 1, 0, 0, 1, 0x65}, 0)
	f.Fuzz(func(t *testing.T, data []byte, size int) {
		cleanStart("h264", data, size&7)
		cleanStart("hevc", data, size&7)
	})
}
