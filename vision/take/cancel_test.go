package take

import (
	"bytes"
	"context"
	"encoding/binary"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/internal/av"
)

// reboxed returns an MP4 with the content of the named boxes replaced.
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

// manyPackets returns a clip whose tables list n packets of one byte, from which no decoder makes a picture.
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

// manyEdits returns a clip of 90 frames whose edit list shows it n times.
func manyEdits(t *testing.T, n int) string {
	return rewrite(t, encode(t, "a.mp4", 90, x264("keyint=90")...), "edits.mp4", func(clip []byte) []byte {
		list := append(be(4, 0), be(4, n)...)
		for range n {
			list = append(list, append(append(be(4, 3000), be(4, 0)...), be(4, 1<<16)...)...) // ms, from, rate
		}
		return reboxed(clip, map[string][]byte{"elst": list})
	})
}

// requireStops cancels the context of do after the given time and requires do to end within half a second. The
// limit is extended by the time by which plain sleeps overrun meanwhile, since the machine may be busy.
func requireStops(t *testing.T, after time.Duration, do func(context.Context) error) {
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

// TestCancelStops: opening and hashing end at once when the context ends, also while no picture comes out.
func TestCancelStops(t *testing.T) {
	opens := func(path string) func(context.Context) error {
		return func(ctx context.Context) error {
			take, err := Open(ctx, path)
			if err == nil {
				take.Close()
			}
			return err
		}
	}
	many := manyPackets(t, 500_000)
	for _, after := range []time.Duration{50 * time.Millisecond, 500 * time.Millisecond} {
		t.Run("many packets", func(t *testing.T) { requireStops(t, after, opens(many)) })
	}
	t.Run("edit list", func(t *testing.T) { requireStops(t, 100*time.Millisecond, opens(manyEdits(t, 2000))) })
	t.Run("hash", func(t *testing.T) {
		take := open(t, rewrite(t, encode(t, "a.mp4", 3, x264("keyint=1")...), "sparse.mp4", func(b []byte) []byte { return b }))
		take.sum.stop()
		require.NoError(t, os.Truncate(take.path, 1<<40)) // a sparse file takes as long to read as data
		take.sum = startSum(take.path)
		requireStops(t, 50*time.Millisecond, func(ctx context.Context) error {
			_, err := take.SHA256(ctx)
			return err
		})
		assert.Equal(t, 3, take.Info().Frames, "the hash is not waited for")
	})
}

// TestAwait: await does not wait for work that ignores the context, and passes its late result to drop.
func TestAwait(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	blocked, dropped := make(chan struct{}), make(chan int)
	time.AfterFunc(10*time.Millisecond, cancel)
	_, err := await(ctx, func() (int, error) { <-blocked; return 7, nil }, func(v int) { dropped <- v })
	assert.ErrorIs(t, err, context.Canceled)
	close(blocked)
	assert.Equal(t, 7, <-dropped)
	v, err := await(t.Context(), func() (int, error) { return 8, nil }, func(int) { assert.Fail(t, "a value that was returned is dropped") })
	assert.NoError(t, err)
	assert.Equal(t, 8, v)
}

// TestCancelEndsWork: every stage of background work ends early once the context has ended. The context ends
// after an eighth of the time that the stage takes; the stage must end within half of it.
func TestCancelEndsWork(t *testing.T) {
	const n = 200_000
	many := manyPackets(t, n)
	for name, do := range map[string]func(context.Context, *reader) error{
		"probing of the streams": func(ctx context.Context, _ *reader) error { // reading the header takes a hundredth of the time
			clip, err := av.Open(ctx, many, maxPixels, nil)
			if err == nil {
				clip.Close()
			}
			return err
		},
		"index": func(ctx context.Context, r *reader) error {
			_, err := readIndex(ctx, "many.mp4", r.clip)
			return err
		},
		"decoder": func(ctx context.Context, r *reader) error {
			_, err := r.next(ctx)
			return err
		},
		"seek": func(ctx context.Context, r *reader) error {
			if !r.seek(ctx, key{stamp{1 << 40, n}, 0}) && r.clip == nil { // its place is not known
				return ctx.Err()
			}
			return nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			run := func(ctx context.Context) (time.Duration, error) {
				r, err := openReader(t.Context(), many, nil, 2, &index{counted: true, packets: n})
				require.NoError(t, err)
				defer r.close()
				r.clip.Heed(context.Background()) // the loops themselves look at the context
				from := time.Now()
				err = do(ctx, r)
				return time.Since(from), err
			}
			whole, _ := run(t.Context())
			ctx, cancel := context.WithTimeout(t.Context(), whole/8)
			defer cancel()
			part, err := run(ctx)
			assert.Error(t, err)
			assert.Error(t, ctx.Err())
			assert.Less(t, part, whole/2)
		})
	}
}

// TestUsableAfterCancel: after a cancelled request a take still returns the right frames.
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

// TestHeed: a clip stops for the context given to Heed and for no other, and Stopped reports it.
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
