package take

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTooMuchListed: a small file whose tables have too many entries is refused before FFmpeg lists them.
func TestTooMuchListed(t *testing.T) {
	for name, path := range map[string]string{
		"samples":   manyPackets(t, maxEntries+1),
		"edits":     manyEdits(t, maxEntries/90+1),
		"fragments": manyInFragment(t, maxEntries+1),
	} {
		t.Run(name, func(t *testing.T) {
			require.Error(t, checkTables(t.Context(), name, path))
			_, err := Open(t.Context(), path)
			requireWords(t, err, "lists too many pictures")
		})
	}
	for name, path := range map[string]string{
		"samples":   manyPackets(t, maxEntries),
		"edits":     manyEdits(t, maxEntries/90),
		"fragments": manyInFragment(t, maxEntries-3),
	} {
		assert.NoError(t, checkTables(t.Context(), name, path), name)
	}
}

// manyInFragment returns a clip with a fragment that lists n more pictures.
func manyInFragment(t *testing.T, n int) string {
	return rewrite(t, encode(t, "a.mp4", 3, x264("keyint=1")...), "fragment.mp4", func(clip []byte) []byte {
		return append(clip, box("moof", fullBox("mfhd", 0, 0, be(4, 1)),
			box("traf", fullBox("tfhd", 0, 0, be(4, 1)), fullBox("trun", 0, 0, be(4, n))))...)
	})
}

// TestLongSound: uncompressed sound with one tick per sample, as cameras store it, counts few entries.
func TestLongSound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.mov")
	ffmpeg(t, "-i", encode(t, "a.mp4", 300, x264("keyint=30")...), "-f", "lavfi", "-i", "sine=r=48000:d=10", "-c:v", "copy", "-c:a", "pcm_s16le", path)
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	n, err := entries(t.Context(), f)
	require.NoError(t, err)
	assert.Equal(t, int64(300+480000/1024), n)
}

// TestArrange: packets at most maxReorder from their place are sorted stably, others are refused.
func TestArrange(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	sorted, refused := 0, 0
	for range 2000 {
		all := make([]stamp, 1+r.IntN(300))
		reach := r.IntN(2 * maxReorder)
		for i := range all {
			all[i] = stamp{int64(i + r.IntN(reach+1)), i}
		}
		want := slices.Clone(all)
		slices.SortStableFunc(want, func(a, b stamp) int { return int(a.pts - b.pts) })
		near := true
		for rank, s := range want {
			near = near && rank-s.pos <= maxReorder && s.pos-rank <= maxReorder
		}
		require.Equal(t, near, arrange(all))
		if !near {
			refused++
			continue
		}
		sorted++
		require.Equal(t, want, all)
	}
	assert.Greater(t, min(sorted, refused), 100)
	far := make([]stamp, 1_000_000)
	for i := range far {
		far[i] = stamp{int64(-i), i}
	}
	assert.False(t, arrange(far), "reversed order is refused in linear time")
}
