package take

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/bep/imagemeta"

	"ecart/vision/internal/av"
)

// tags holds what a file says about the camera and the time of recording. The place is never read.
type tags struct {
	captured     time.Time
	maker, model string
	focal35      float64 // mm, 0 unknown
	captureRate  float64 // frames per second, 0 unknown
}

// clipTags reads the metadata of a clip by the keys of QuickTime and Android.
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

// firstDigital is earlier than any phone's recording. Earlier dates are ignored: a clock that was never set gives
// 1904 or 1970.
var firstDigital = time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC)

func clipTime(s string) time.Time {
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04:05-0700", "2006-01-02T15:04:05", "2006-01-02 15:04:05"} {
		if at, err := time.Parse(layout, s); err == nil && at.After(firstDigital) {
			return at
		}
	}
	return time.Time{}
}

// exif reads the camera, the time of recording and the orientation from a still's EXIF (CIPA DC-008).
// Missing or damaged values stay unknown: damaged metadata never prevents a picture from being opened.
func exif(k kind, data io.ReadSeeker) (tags, av.Orientation) {
	format := map[kind]imagemeta.ImageFormat{
		jpegKind: imagemeta.JPEG, pngKind: imagemeta.PNG, webpKind: imagemeta.WebP, heicKind: imagemeta.HEIF,
	}[k]
	var out tags
	o := av.Orientation(1)
	var taken, zone string
	wanted := map[string]func(any){
		"Orientation": func(v any) {
			if n := int(number(v)); n >= 1 && n <= 8 {
				o = av.Orientation(n)
			}
		},
		"FocalLengthIn35mmFormat": func(v any) { out.focal35 = number(v) },
		"DateTimeOriginal":        func(v any) { taken = text(v) },
		"OffsetTimeOriginal":      func(v any) { zone = text(v) },
		"Make":                    func(v any) { out.maker = text(v) },
		"Model":                   func(v any) { out.model = text(v) },
	}
	_, _ = imagemeta.Decode(imagemeta.Options{
		R: data, ImageFormat: format, Sources: imagemeta.EXIF,
		ShouldHandleTag: func(tag imagemeta.TagInfo) bool {
			return wanted[tag.Tag] != nil && (tag.Namespace == "IFD0" || strings.HasPrefix(tag.Namespace, "IFD0/Exif"))
		},
		HandleTag: func(tag imagemeta.TagInfo) error {
			wanted[tag.Tag](tag.Value)
			return nil
		},
	})
	out.captured = exifTime(taken, zone)
	return out, o
}

func exifTime(taken, zone string) time.Time {
	at, err := time.Parse("2006:01:02 15:04:05Z07:00", taken+zone)
	if err != nil {
		at, err = time.Parse("2006:01:02 15:04:05", taken)
	}
	if err != nil || at.Before(firstDigital) {
		return time.Time{}
	}
	return at
}

func text(v any) string {
	return strings.TrimSpace(strings.Trim(fmt.Sprint(v), "\x00"))
}

// number returns a tag's value, or 0 if it is not a positive finite number.
func number(v any) float64 {
	f, err := strconv.ParseFloat(text(v), 64)
	if err != nil || !(f > 0) || math.IsInf(f, 0) {
		return 0
	}
	return f
}
