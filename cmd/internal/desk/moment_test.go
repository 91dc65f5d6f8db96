package desk

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/fault"
	"ecart/vision/take"
)

func TestParseAt(t *testing.T) {
	for _, c := range []struct {
		text string
		want moment
	}{
		{"0", moment{}},
		{"137", moment{frame: 137}},
		{"0s", moment{isTime: true}},
		{"2.283s", moment{time: 2283 * time.Millisecond, isTime: true}},
		{"2,283s", moment{time: 2283 * time.Millisecond, isTime: true}},
		{".5s", moment{time: 500 * time.Millisecond, isTime: true}},
		{"10s", moment{time: 10 * time.Second, isTime: true}},
		{"0.0000000014s", moment{time: 1, isTime: true}}, // to the nearest nanosecond
	} {
		got, err := parseAt(c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, got, c.text)
	}
	for _, text := range []string{
		"", "s", ".s", " 1", "1 s", "-1", "+1", "-1s", "+1s", "1.5", "1e3", "1e3s", "0x10", "0x1p-2s", "NaN", "nans", "infs",
		"1ms", "1m2s", "1.2.3s", "1,2.3s", "1_000", "99999999999999999999", "1000001s", "١s",
	} {
		_, err := parseAt(text)
		assertTwoLines(t, err, text)
	}
}

func TestLength(t *testing.T) {
	const inexact = 1e-9 // relative: one multiplication and one division
	for _, c := range []struct {
		text string
		mm   float64
	}{
		{"152cm", 1520}, {"1.52m", 1520}, {"1520mm", 1520}, {"1,52m", 1520}, {"152 cm", 1520}, {" 1.52 m ", 1520}, {"152CM", 1520}, {"5m", 5000}, {".5m", 500},
	} {
		got, err := Length("stature", c.text, 1)
		require.NoError(t, err, c.text)
		assert.InEpsilon(t, c.mm, got, inexact, c.text)
		got, err = Length("distance", c.text, 1000)
		require.NoError(t, err, c.text)
		assert.InEpsilon(t, c.mm/1000, got, inexact, c.text)
	}
	got, err := Length("stature", "", 1)
	require.NoError(t, err)
	assert.Zero(t, got, "not given")
	for _, text := range []string{"152", "cm", "0cm", "0m", "-5m", "+5m", "5km", "5ft", "1e3m", "nanm", "infm", "0x5m", "5mcm", "1.2.3m", "five m"} {
		_, err := Length("stature", text, 1)
		assertTwoLines(t, err, text)
	}
}

// assertTwoLines checks that an error is of the call and names what is wrong.
func assertTwoLines(t *testing.T, err error, wrong string) {
	t.Helper()
	var e *fault.Error
	if assert.ErrorAs(t, err, &e, "%q", wrong) {
		assert.Contains(t, e.Error(), strconv.Quote(wrong))
		assert.NotEmpty(t, e.Hint())
	}
}

// demoClip opens the built-in clip: 90 frames, 60 a second.
func demoClip(t *testing.T) *take.Take {
	clip, _ := demotake.Files()
	path := filepath.Join(t.TempDir(), demotake.Name)
	require.NoError(t, os.WriteFile(path, clip, 0o600))
	k, err := take.Open(context.Background(), path)
	require.NoError(t, err)
	t.Cleanup(func() { k.Close() })
	require.Equal(t, 90, k.Info().Frames)
	return k
}

func TestFrameAsked(t *testing.T) {
	k := demoClip(t)
	for _, c := range []struct {
		at     string
		marked int
		want   int
		noted  bool
	}{
		{"", 43, 43, false},
		{"", 0, 0, false},
		{"", 89, 89, false},
		{"43", 43, 43, false},
		{"40", 43, 40, true},
		{"0", 43, 0, true},
		{"89", 43, 89, true},
		{"0s", 0, 0, false},
		// frame n is shown from n/60 s on, and to the last frame's end
		{"0.016s", 0, 0, false},
		{"0.017s", 1, 1, false},
		{"0.716s", 42, 42, false},
		{"0.717s", 43, 43, false},
		{"1.499s", 89, 89, false},
		{"1.5s", 89, 89, false},
		// --at replaces a wrong frame in the file
		{"3", 500, 3, true},
	} {
		n, note, err := frameAsked(k, c.at, c.marked)
		require.NoError(t, err, c)
		assert.Equal(t, c.want, n, c)
		assert.Equal(t, c.noted, note != "", "%v: %s", c, note)
	}
	for _, c := range []struct {
		at     string
		marked int
		names  string
	}{
		{"", 90, "frame 90 of the marks file"},
		{"", -1, "frame -1 of the marks file"},
		{"90", 43, "frame 90 "},
		{"1.501s", 43, "the moment 1.501s"},
		{"soon", 43, `"soon"`},
	} {
		_, _, err := frameAsked(k, c.at, c.marked)
		var e *fault.Error
		require.ErrorAs(t, err, &e, c)
		assert.Contains(t, e.Error(), c.names)
		assert.NotEmpty(t, e.Hint())
	}
}

func FuzzParseAt(f *testing.F) {
	for _, s := range []string{"137", "2.283s", "2,283s", "-1", "s", "1e9s", "NaNs", "999999999999s", "0x1s"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, err := parseAt(s)
		if err != nil {
			var e *fault.Error
			require.ErrorAs(t, err, &e)
			require.NotEmpty(t, e.Hint())
			return
		}
		require.GreaterOrEqual(t, m.frame, 0)
		require.GreaterOrEqual(t, m.time, time.Duration(0))
		require.LessOrEqual(t, m.time, time.Duration(longest*1e9))
		require.False(t, m.isTime && m.frame != 0)
		if !m.isTime {
			n, err := strconv.Atoi(s)
			require.NoError(t, err)
			require.Equal(t, n, m.frame)
		}
	})
}

func FuzzLength(f *testing.F) {
	for _, s := range []string{"152cm", "1.52m", "1,52 m", "1520MM", "5", "m", "-1m", "infm", "0.0000001mm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := Length("stature", s, 1)
		if err != nil {
			var e *fault.Error
			require.ErrorAs(t, err, &e)
			require.NotEmpty(t, e.Hint())
			return
		}
		if s == "" {
			require.Zero(t, v)
			return
		}
		require.Greater(t, v, 0.0)
		require.False(t, v > 1e308, "%q gives %v", s, v)
	})
}
