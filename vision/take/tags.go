package take

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// tags is what a file says of the camera and the moment. Where it was taken is never read.
type tags struct {
	captured     time.Time
	maker, model string
	focal35      float64 // mm, 0 unknown
	captureRate  float64 // frames per second, 0 unknown
}

// clipTags reads the metadata of a clip, whose keys are those of QuickTime and Android.
func clipTags(get func(string) string) tags {
	first := func(keys ...string) string {
		for _, k := range keys {
			if v := strings.TrimSpace(get(k)); v != "" {
				return v
			}
		}
		return ""
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v > 0 && v < 1e6) {
			return 0
		}
		return v
	}
	return tags{
		captured:    clipTime(first("com.apple.quicktime.creationdate", "creation_time")),
		maker:       first("com.apple.quicktime.make", "com.android.manufacturer", "make"),
		model:       first("com.apple.quicktime.model", "com.android.model", "model"),
		focal35:     number(first("com.apple.quicktime.camera.focal_length.35mm_equivalent")),
		captureRate: number(first("com.android.capture.fps")),
	}
}

// firstDigital is older than any phone: a clock that was never set reads 1904 or 1970.
var firstDigital = time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC)

func clipTime(s string) time.Time {
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04:05-0700", "2006-01-02T15:04:05", "2006-01-02 15:04:05"} {
		if at, err := time.Parse(layout, s); err == nil && at.After(firstDigital) {
			return at
		}
	}
	return time.Time{}
}

func plural(n int) string {
	if n == 1 {
		return "1 frame"
	}
	return fmt.Sprintf("%d frames", n)
}
