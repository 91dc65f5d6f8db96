package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/trial/desktest"
)

// tenThousand returns a journal of 10,000 readings of one measure by so many athletes, over
// 200 days; it is made once and kept in the repository's .cache.
func tenThousand(b *testing.B, athletes int) string {
	const readings, days = 10_000, 200
	dir, err := filepath.Abs(filepath.Join("..", "..", "..", ".cache", "bench"))
	require.NoError(b, err)
	require.NoError(b, os.MkdirAll(dir, 0o777))
	path := filepath.Join(dir, fmt.Sprintf("%d-athletes.journal", athletes))
	if _, err := os.Stat(path); err == nil {
		return path
	}
	last := time.Date(2026, 5, 30, 0, 0, 0, 0, time.UTC)
	part := filepath.Join(b.TempDir(), "part.journal")
	j, err := journal.Open(part, journal.Options{Create: true, Now: func() time.Time { return last }})
	require.NoError(b, err)
	for n := range readings {
		name, turn := fmt.Sprintf("Wren-%d", n%athletes), n/athletes
		// a degree more every forty days, and up to two degrees to both sides
		deg := 160 + float64(turn%days)/40 + float64(n*7%17-8)/4
		day := last.AddDate(0, 0, turn%days-days+1).Format(time.DateOnly)
		e, err := desktest.Entry(n, []string{name, day, "left", "warm", "passive", "hip-split", fmt.Sprint(deg), "2", "180", "rater=Iris", "setup=wall"})
		require.NoError(b, err)
		_, err = j.Keep(context.Background(), e)
		require.NoError(b, err)
	}
	require.NoError(b, j.Close())
	data, err := os.ReadFile(part)
	require.NoError(b, err)
	require.NoError(b, os.WriteFile(path, data, 0o666))
	return path
}

// BenchmarkChange is 'ecart change' on a journal of 10,000 readings, from opening it
// to the last line printed, beside listing the whole journal: under 200 ms are wanted.
// Fifteen athletes have 667 readings each. Beside the ratio stands the processors'
// time, which other work on the machine does not lengthen as much.
func BenchmarkChange(b *testing.B) {
	path := tenThousand(b, 15)
	var whole, list []time.Duration
	var used time.Duration
	for b.Loop() {
		for range pairs {
			before, start := processors(b), time.Now()
			require.Zero(b, Main([]string{"change", "Wren-0", "--measure", "hip-split", "--journal", path}, nil, io.Discard, io.Discard))
			whole = append(whole, time.Since(start))
			used += processors(b) - before
			start = time.Now()
			j, err := journal.Open(path, journal.Options{Read: true})
			require.NoError(b, err)
			_, err = j.List(context.Background(), journal.Filter{})
			require.NoError(b, err)
			require.NoError(b, j.Close())
			list = append(list, time.Since(start))
		}
	}
	b.ReportMetric(float64(median(whole).Microseconds())/1000, "ms(max:200)")
	b.ReportMetric(used.Seconds()*1000/float64(len(whole)), "processor-ms")
	b.ReportMetric(float64(median(list).Microseconds())/1000, "list-ms")
	b.ReportMetric(float64(median(whole))/float64(median(list)), "ratio")
	b.ReportMetric(0, "ns/op")
}
