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

// exif reads the camera, the moment and the orientation from a still's EXIF (CIPA DC-008). What is
// missing or damaged stays unknown: metadata never keeps a picture from being opened.
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

// number reads a tag's value, 0 where it is no positive finite number.
func number(v any) float64 {
	f, err := strconv.ParseFloat(text(v), 64)
	if err != nil || !(f > 0) || math.IsInf(f, 0) {
		return 0
	}
	return f
}
