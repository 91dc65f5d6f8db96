package cli

import (
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/desktest"
)

// Go iterates a map in another order each time. The same command on
// the same files prints the same bytes in five processes.
func TestFiveProcessesSameBytes(t *testing.T) {
	dir := squadHall(t, "athlete,take,marks,side,condition,state\nWren,leap.mp4,marks.json,left,passive,warm\nWren,leap.mp4,twice.json,left,in-skill,warm\n")
	_, data := demotake.Files()
	marks, err := reading.ParseMarks("marks.json", data)
	require.NoError(t, err)
	for i, p := range marks.Marks { // placed twice each: scatter and means are sums
		p.X, p.Y = p.X+1.1/float64(i+1), p.Y-0.7*float64(i+1)
		marks.Marks = append(marks.Marks, p)
	}
	twice, err := json.Marshal(marks)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "twice.json"), twice, 0o600))
	months := `Wren 2026-01-05 left warm passive hip-split 171.3 1.8 180
Wren 2026-01-05 left warm active hip-split 160.7 1.9 180
Wren 2026-01-05 left warm in-skill hip-split 155.1 2.3 180
Wren 2026-01-05 right warm passive hip-split 176.9 1.7 180
Wren 2026-02-03 left warm passive hip-split 173.7 1.8 180
Wren 2026-02-03 right warm passive hip-split 177.1 1.6 180
Wren 2026-03-03 left warm passive hip-split 174.9 1.7 180
Wren 2026-03-03 left warm active hip-split 162.3 1.9 180
Wren 2026-03-03 left warm in-skill hip-split 156.1 2.3 180`
	require.NoError(t, desktest.Keep(filepath.Join(dir, "hall.journal"), months))
	commands := map[string][]string{
		"read":   {"read", "leap.mp4", "--marks", "twice.json", "--skill", "split-leap", "--camera", "by-eye", "--json"},
		"squad":  {"squad", "list.csv", "--skill", "split-leap", "--camera", "by-eye", "--afresh", "--json"},
		"change": {"change", "Wren", "--measure", "hip-split", "--side", "left", "--journal", "hall.journal", "--json"},
		"screen": {"screen", "Wren", "--movement", "split", "--journal", "hall.journal", "--json"},
		"sheet":  {"sheet", "reading", "twice.json", "--take", "leap.mp4", "--skill", "split-leap", "--for", "judge", "--out", "s.html", "--json"},
	}
	for name, args := range commands {
		want := ""
		for range 5 {
			c := ecartAt(dir, args...)
			var said strings.Builder
			c.Stderr = &said
			out, err := c.Output()
			require.NoError(t, err, "%s: %s", name, said.String())
			if name == "sheet" {
				page, err := os.ReadFile(filepath.Join(dir, "s.html"))
				require.NoError(t, err)
				require.NoError(t, os.Remove(filepath.Join(dir, "s.html")))
				out = append(out, page...)
			}
			if want == "" {
				want = string(out)
			}
			require.Equal(t, want, string(out), name)
		}
	}
}

// Of two errors the same one is named each time.
func TestOneErrorOfSeveral(t *testing.T) {
	for range 30 { // by chance in one order: once in 2^29
		var said strings.Builder
		Main([]string{"lens", "--print", "board.pdf", "--out", "a.json", "--figure", "a.png"}, nil, io.Discard, &said)
		assert.Contains(t, said.String(), "--out")
	}
}
