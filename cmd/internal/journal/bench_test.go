package journal

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// tenThousand is a journal of 10,000 readings: fifteen athletes, 200 days.
func tenThousand(b *testing.B) *Journal {
	const readings = 10_000
	j := openNew(b)
	template := sample(b, 0)
	r, err := template.Parse()
	require.NoError(b, err)
	require.NoError(b, j.write(ctx, notKept, func(tx *sql.Tx) error {
		for n := range readings {
			e := template
			e.UID, e.KeptAt, e.Athlete = fmt.Sprintf("%032x", n), j.stamp(), birds[n%len(birds)]
			e.Day = spring().AddDate(0, 0, -(n/len(birds))%200).Format("2006-01-02")
			if _, err := insert(ctx, tx, &e, r); err != nil {
				return err
			}
		}
		return nil
	}))
	require.NoError(b, j.Close())
	return j
}

// From start: the file is opened each time, as the command line does.
func BenchmarkListTenThousand(b *testing.B) {
	path := tenThousand(b).Path()
	for b.Loop() {
		j, err := Open(path, Options{Now: spring})
		require.NoError(b, err)
		rows, err := j.List(ctx, Filter{})
		require.NoError(b, err)
		require.Len(b, rows, 10_000)
		require.NoError(b, j.Close())
	}
}

func BenchmarkOneAthleteOfTenThousand(b *testing.B) {
	path := tenThousand(b).Path()
	for b.Loop() {
		j, err := Open(path, Options{Now: spring})
		require.NoError(b, err)
		rows, err := j.List(ctx, Filter{Athlete: "Wren", Measure: "hip-split"})
		require.NoError(b, err)
		require.Len(b, rows, 667)
		require.NoError(b, j.Close())
	}
}

// Keep is durable. For comparison: writing and syncing as many bytes.
func BenchmarkKeep(b *testing.B) {
	j := tenThousand(b)
	j, err := Open(j.Path(), Options{Now: spring})
	require.NoError(b, err)
	defer j.Close()
	size := 0
	n := 0
	b.Run("keep", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			e := sample(b, n)
			n++
			b.StartTimer()
			_, err := j.Keep(ctx, &e)
			require.NoError(b, err)
			size = len(e.Marks) + len(e.Reading) + len(mustJSON(e.Request))
		}
	})
	b.Run("write and sync", func(b *testing.B) {
		f, err := os.Create(filepath.Join(b.TempDir(), "plain"))
		require.NoError(b, err)
		defer f.Close()
		data := make([]byte, size)
		for b.Loop() {
			_, err := f.Write(data)
			require.NoError(b, err)
			require.NoError(b, f.Sync())
		}
	})
}
