package page_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
)

// Somebody who places all marks of a frame again has the figure that 'ecart repeat' finds of the
// same marks, and readings with the name are the same on both doors.
func TestBothDoorsRepeat(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	d := twoDoors(t, clip)
	frame, marks := demoMarks(t)
	place := func(version, times int) {
		var rounds []map[string][2]float64
		for i := range times {
			m := map[string][2]float64{}
			for j, l := range asks {
				m[l] = [2]float64{marks[l][0] + float64((i*7+j*3)%5) - 2, marks[l][1] + float64((i*5+j*2)%7) - 3}
			}
			rounds = append(rounds, m)
		}
		data, err := json.Marshal(rounds)
		require.NoError(t, err)
		r := d.page.do("PUT", "/takes/"+d.id+"/work", strings.NewReader(fmt.Sprintf(`{"version": %d, "skill": "fig-women/split-leap", "rater": "Kit", "confidence": 0.9, "frame": %d, "frames": {"%d": {"rounds": %s}}}`, version, frame, frame, data)))
		require.Equal(t, http.StatusOK, r.status, "%s", r.body)
	}
	repeat := func(version int, rater string) answered {
		return d.page.do("POST", "/takes/"+d.id+"/repeat", strings.NewReader(fmt.Sprintf(`{"frame": %d, "version": %d, "rater": %q}`, frame, version, rater)))
	}
	place(0, 1)
	assert.Equal(t, http.StatusUnprocessableEntity, repeat(1, "").status, "nobody is named")
	assert.Equal(t, http.StatusConflict, repeat(9, "Kit").status, "other marks than the window shows")
	once := repeat(1, "Kit")
	assert.Equal(t, http.StatusUnprocessableEntity, once.status, "placed once: %s", once.body)
	assert.NotContains(t, string(once.body), "--")
	place(1, 4)
	got := repeat(2, "Kit")
	require.Equal(t, http.StatusOK, got.status, "%s", got.body)
	assert.Contains(t, string(got.body), "Kit places a point to ")
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "marks.json"), d.get(frame, "marks.json"), 0o600))
	d.command(true, "repeat", "leap.mp4", "marks.json", "--rater", "Kit", "--keep", "--measure", "hip-split", "--journal", "hall.journal")
	one, _ := d.command(true, "read", "leap.mp4", "--marks", "marks.json", "--json", "--skill", "fig-women/split-leap", "--confidence", "0.9", "--rater", "Kit", "--journal", "hall.journal")
	assert.Equal(t, one, string(d.get(frame, "reading.json")), "a reading with that figure, and with a confidence of 90 %")
}
