package take

import (
	"bytes"
	"context"
	"encoding/binary"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/internal/av"
)

// reboxed is an MP4 with the content of some of its boxes replaced.
func reboxed(data []byte, with map[string][]byte) []byte {
	var out []byte
	for len(data) >= 8 {
		size, kind := int(binary.BigEndian.Uint32(data)), string(data[4:8])
		body := data[8:size]
		data = data[size:]
		switch kind {
		case "moov", "trak", "mdia", "minf", "stbl", "edts":
			body = reboxed(body, with)
		}
		if b, ok := with[kind]; ok {
			body = b
		}
		out = append(out, box(kind, body)...)
	}
	return out
}

// manyPackets is a clip whose tables list n packets of one byte, which no decoder makes a picture of.
func manyPackets(t *testing.T, n int) string {
	return rewrite(t, encode(t, "a.mp4", 3, x264("keyint=1")...), "many.mp4", func(clip []byte) []byte {
		table := func(numbers ...int) []byte { // version and flags, then numbers of four bytes
			b := be(4, 0)
			for _, v := range numbers {
				b = append(b, be(4, v)...)
			}
			return b
		}
		clip = append(box("mdat", bytes.Repeat([]byte{0x80}, n)), clip...)
		return reboxed(clip, map[string][]byte{
			"stts": table(1, n, 1), "stsc": table(1, 1, n, 1), "stsz": table(1, n), "stco": table(1, 8),
			"stss": table(1, 1), "ctts": table(0), "elst": table(0),
		})
	})
}

// manyEdits is a clip of 90 frames whose edit list shows it n times.
func manyEdits(t *testing.T, n int) string {
	return rewrite(t, encode(t, "a.mp4", 90, x264("keyint=90")...), "edits.mp4", func(clip []byte) []byte {
		list := append(be(4, 0), be(4, n)...)
		for range n {
			list = append(list, append(append(be(4, 3000), be(4, 0)...), be(4, 1<<16)...)...) // ms, from, rate
		}
		return reboxed(clip, map[string][]byte{"elst": list})
	})
}

// requireHeard cancels the context of a function after a while, and requires it to end within half a second
// of that. To this is added by how much the machine is late with a plain sleep meanwhile.
func requireHeard(t *testing.T, after time.Duration, do func(context.Context) error) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- do(ctx) }()
	select {
	case err := <-ended:
		require.FailNow(t, "it did not last until the context ended", "%v", err)
	case <-time.After(after):
	}
	cancel()
	from, late := time.Now(), time.Duration(0)
	for {
		const nap = 10 * time.Millisecond
		last := time.Now()
		select {
		case err := <-ended:
			assert.ErrorIs(t, err, context.Canceled)
			assert.Less(t, time.Since(from), 500*time.Millisecond+late)
			return
		case <-time.After(nap):
			late += max(0, time.Since(last)-2*nap)
		}
	}
}

// TestCancelHeard: the end of the context is heard in each stage of opening a clip, whether pictures come
// out or not.
func TestCancelHeard(t *testing.T) {
	const n = 500_000
	many := manyPackets(t, n)
	opens := func(path string) func(context.Context) error {
		return func(ctx context.Context) error {
			take, err := Open(ctx, path)
			if err == nil {
				take.Close()
			}
			return err
		}
	}
	t.Run("streams are looked into", func(t *testing.T) { requireHeard(t, 100*time.Millisecond, opens(many)) })
	t.Run("edit list", func(t *testing.T) { requireHeard(t, 100*time.Millisecond, opens(manyEdits(t, 2000))) })

	for name, do := range map[string]func(context.Context, *reader) error{
		"index": func(ctx context.Context, r *reader) error {
			_, err := readIndex(ctx, r.clip)
			return err
		},
		"decoder": func(ctx context.Context, r *reader) error {
			_, err := r.next(ctx)
			return err
		},
		"seek": func(ctx context.Context, r *reader) error {
			if r.seek(ctx, key{stamp{1 << 40, n}, 0}) {
				return nil
			}
			assert.Nil(t, r.clip, "its place is not known")
			return ctx.Err()
		},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := openReader(t.Context(), many, nil, 2, &index{counted: true, packets: n})
			require.NoError(t, err)
			defer r.close()
			r.clip.Heed(context.Background()) // the loops themselves look at the context
			requireHeard(t, 100*time.Millisecond, func(ctx context.Context) error { return do(ctx, r) })
		})
	}
}

// TestUsableAfterCancel: a take whose frame was given up gives the right frames afterwards.
func TestUsableAfterCancel(t *testing.T) {
	const n = 60
	take := open(t, encode(t, "a.mp4", n, x264("keyint=infinite:bframes=2")...))
	for i := range 20 {
		ctx, cancel := context.WithTimeout(t.Context(), time.Duration(i)*time.Millisecond/4)
		_ = take.Stream(ctx, i, func(*Frame) error { return nil })
		_, _ = take.Frame(ctx, n-1-i)
		cancel()
		assert.Equal(t, 2*i, readNumber(t, frame(t, take, 2*i)))
	}
}

// TestHeed: a clip stops for the context that it heeds and for no other, and says so.
func TestHeed(t *testing.T) {
	before, cancelBefore := context.WithCancel(t.Context())
	clip, err := av.Open(before, encode(t, "a.mp4", 5, x264("keyint=1")...), maxPixels, nil)
	require.NoError(t, err)
	defer clip.Close()
	now, cancel := context.WithCancel(t.Context())
	clip.Heed(now)
	cancelBefore()
	_, err = clip.Read()
	require.NoError(t, err)
	assert.False(t, clip.Stopped())
	cancel()
	clip.Heed(now)
	_, err = clip.Read()
	assert.Error(t, err)
	assert.True(t, clip.Stopped())
}
