package take

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"

	"golang.org/x/image/webp"
)

// webpConfig returns the size of a WebP picture: the largest that any of its chunks declares, since
// the canvas and the picture on it each declare one.
func webpConfig(data []byte) (image.Config, error) {
	cfg, err := webp.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return cfg, err
	}
	for rest := data[12:]; len(rest) >= 8; {
		kind, size := string(rest[:4]), int(binary.LittleEndian.Uint32(rest[4:]))
		body := rest[8:]
		w, h := 0, 0
		switch {
		case kind == "ANIM":
			return cfg, errors.New("it is animated")
		case kind == "VP8 " && len(body) >= 10: // RFC 6386 9.1
			w, h = int(binary.LittleEndian.Uint16(body[6:]))&0x3fff, int(binary.LittleEndian.Uint16(body[8:]))&0x3fff
		case kind == "VP8L" && len(body) >= 5: // RFC 9649 3.4
			bits := binary.LittleEndian.Uint32(body[1:])
			w, h = int(bits&0x3fff)+1, int(bits>>14&0x3fff)+1
		}
		cfg.Width, cfg.Height = max(cfg.Width, w), max(cfg.Height, h)
		if size += size & 1; size > len(body) {
			break
		}
		rest = body[size:]
	}
	return cfg, nil
}
