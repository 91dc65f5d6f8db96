package take

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// requireRefused requires that Open refuses the file with an error that contains words and the file's name.
func requireRefused(t *testing.T, path string, words string) {
	t.Helper()
	take, err := Open(context.Background(), path)
	require.Nil(t, take)
	require.Error(t, err)
	requireWords(t, err, words)
	assert.Contains(t, err.Error(), filepath.Base(path))
}

// requireWords requires the form of every error (one line and a hint of one line, lower case, no full stop) and
// that it contains words.
func requireWords(t *testing.T, err error, words string) {
	t.Helper()
	assert.Contains(t, err.Error(), words)
	var hinted interface{ Hint() string }
	require.True(t, errors.As(err, &hinted), "no hint in %q", err)
	for _, s := range []string{err.Error(), hinted.Hint()} {
		assert.Regexp(t, regexp.MustCompile(`^["a-z].*[^.\s]$`), s)
		assert.NotContains(t, s, "\n")
	}
}

func write(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

func TestBadFiles(t *testing.T) {
	clip, err := os.ReadFile(encode(t, "a.mp4", 10, x264("keyint=5")...))
	require.NoError(t, err)
	sound := filepath.Join(t.TempDir(), "sound.m4a")
	ffmpeg(t, "-f", "lavfi", "-i", "sine=d=1", sound)
	withCover := filepath.Join(t.TempDir(), "cover.m4a")
	cover := write(t, "cover.jpg", stillBytes(t, "mjpeg", "a.jpg"))
	ffmpeg(t, "-f", "lavfi", "-i", "sine=d=1", "-i", cover, "-map", "0", "-map", "1", "-c:v", "copy", "-disposition:v", "attached_pic", withCover)
	moov := bytes.Index(clip, []byte("moov")) - 4 // after the pictures, where ffmpeg puts it

	requireRefused(t, filepath.Join(t.TempDir(), "absent.mp4"), "there is no file")
	requireRefused(t, t.TempDir(), "is a folder")
	requireRefused(t, write(t, "empty.mov", nil), "is empty")
	requireRefused(t, write(t, "words.txt", []byte(strings.Repeat("Wren leapt at Halle Nord. ", 200))), "cannot be read as a clip")
	requireRefused(t, write(t, "noise.jpg", bytes.Repeat([]byte{7, 9, 1, 200, 31}, 999)), "cannot be read as a clip")
	requireRefused(t, write(t, "short.bin", []byte{1}), "cannot be read as a clip")
	requireRefused(t, write(t, "list.m3u8", []byte("#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n"+sound+"\n")), "cannot be read as a clip")
	requireRefused(t, write(t, "a.gif", []byte("GIF89a\x01\x00\x01\x00")), "not read here")
	requireRefused(t, write(t, "a.avif", []byte("\x00\x00\x00\x18ftypavif\x00\x00\x00\x00avifmif1")), "not read here")
	requireRefused(t, sound, "without video")
	requireRefused(t, withCover, "without video")
	requireRefused(t, write(t, "unfinished.mp4", clip[:moov]), "no index (moov)")
	requireRefused(t, write(t, "nothing.mp4", append(clip[:32:32], clip[moov:]...)), "")
}

// TestHugePictures: a file that declares a huge picture is refused by its header, before memory is allocated.
func TestHugePictures(t *testing.T) {
	const side = 50_000
	var small bytes.Buffer
	require.NoError(t, png.Encode(&small, image.NewGray(image.Rect(0, 0, 2, 2))))
	requireRefused(t, write(t, "huge.png", resizePNG(small.Bytes(), side, side)), "too large")
	requireRefused(t, write(t, "wide.png", resizePNG(small.Bytes(), maxSide+1, 1)), "too large")

	jpg := stillBytes(t, "mjpeg", "huge.jpg")
	at := bytes.Index(jpg, []byte{0xff, 0xc0})
	require.Positive(t, at)
	binary.BigEndian.PutUint16(jpg[at+5:], side)
	binary.BigEndian.PutUint16(jpg[at+7:], side)
	requireRefused(t, write(t, "huge.jpg", jpg), "too large")

	webp := stillBytes(t, "libwebp", "huge.webp")
	at = bytes.Index(webp, []byte{0x9d, 0x01, 0x2a}) // RFC 6386 9.1
	require.Positive(t, at)
	binary.LittleEndian.PutUint32(webp[at+3:], 0x3fff3fff)
	requireRefused(t, write(t, "huge.webp", webp), "too large")

	heic := heicFile(t, heicOptions{})
	at = bytes.Index(heic, []byte("ispe"))
	binary.BigEndian.PutUint32(heic[at+8:], side)
	binary.BigEndian.PutUint32(heic[at+12:], side)
	requireRefused(t, write(t, "huge.heic", heic), "too large")
}

// TestTruncatedStills: a truncated still is refused, wherever it is cut.
func TestTruncatedStills(t *testing.T) {
	var lossless bytes.Buffer
	require.NoError(t, png.Encode(&lossless, frame(t, open(t, write(t, "a.jpg", stillBytes(t, "mjpeg", "a.jpg"))), 0).Image()))
	for name, data := range map[string][]byte{
		"cut.jpg": stillBytes(t, "mjpeg", "a.jpg"), "cut.webp": stillBytes(t, "libwebp", "a.webp"),
		"cut.png": lossless.Bytes(), "cut.heic": heicFile(t, heicOptions{}),
	} {
		for _, part := range []float64{0.05, 0.3, 0.6, 0.9, 0.98} {
			path := write(t, name, data[:int(part*float64(len(data)))])
			_, err := Open(context.Background(), path)
			require.Error(t, err, "%s at %v", name, part)
			requireWords(t, err, name)
		}
	}
}

func TestOutOfRange(t *testing.T) {
	clip := open(t, encode(t, "a.mp4", 30, x264("keyint=12")...))
	for _, i := range []int{-1, 30, 1 << 40} {
		_, err := clip.Frame(context.Background(), i)
		require.Error(t, err)
		requireWords(t, err, "it has 30 frames and lasts 1.000 s")
		requireWords(t, clip.Stream(context.Background(), i, nil), "it has 30 frames")
	}
	still := open(t, write(t, "a.jpg", stillBytes(t, "mjpeg", "a.jpg")))
	_, err := still.Frame(context.Background(), 1)
	requireWords(t, err, "it is a still")
}

func TestCancelled(t *testing.T) {
	path := encode(t, "a.mp4", 60, x264("keyint=60")...)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Open(ctx, path)
	require.ErrorIs(t, err, context.Canceled)
	take := open(t, path)
	_, err = take.Frame(ctx, 50)
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorIs(t, take.Stream(ctx, 0, func(*Frame) error { return nil }), context.Canceled)

	stop := errors.New("enough")
	require.ErrorIs(t, take.Stream(context.Background(), 5, func(*Frame) error { return stop }), stop)
	assert.Equal(t, 50, readNumber(t, frame(t, take, 50)), "usable after all that")

	require.NoError(t, take.Close())
	_, err = take.Frame(context.Background(), 3)
	requireWords(t, err, "has been closed")
}

// A library's error is reported in our own words, without its error number.
func TestNoLibraryNumbers(t *testing.T) {
	path := encode(t, "a.mp4", 4, x264("")...)
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	at := bytes.Index(b, []byte("stsc"))
	require.Positive(t, at)
	binary.BigEndian.PutUint32(b[at-4:], math.MaxInt32) // the size of the box
	require.NoError(t, os.WriteFile(path, b, 0o600))
	_, err = Open(t.Context(), path)
	require.ErrorContains(t, err, "its content is damaged, or that of another kind of file")
	assert.NotRegexp(t, `\d{4,}`, strings.ReplaceAll(err.Error(), path, ""))
}
