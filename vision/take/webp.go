package take

import (
	"encoding/binary"
	"errors"
	"image"
	"io"

	"golang.org/x/image/webp"
)

// readWebP returns the size of a WebP picture, the largest that any of its chunks declares, since
// the canvas and the picture on it each declare one, and what decoding it takes, in bytes.
func readWebP(data *io.SectionReader) (image.Config, int64, error) {
	cfg, err := webp.DecodeConfig(io.NewSectionReader(data, 0, data.Size()))
	if err != nil {
		return cfg, 0, err
	}
	alpha, lossless := false, false
	var head [18]byte // of a chunk: its name, its size and the first bytes of its body
	for at := int64(12); ; {
		n, _ := data.ReadAt(head[:], at)
		if n < 8 {
			break
		}
		size := int64(binary.LittleEndian.Uint32(head[4:]))
		body := head[8:n]
		w, h := 0, 0
		switch kind := string(head[:4]); {
		case kind == "ANIM":
			return cfg, 0, errors.New("it is animated")
		case kind == "ALPH":
			alpha = true
		case kind == "VP8 " && len(body) >= 10: // RFC 6386 9.1
			w, h = int(binary.LittleEndian.Uint16(body[6:]))&0x3fff, int(binary.LittleEndian.Uint16(body[8:]))&0x3fff
		case kind == "VP8L" && len(body) >= 5: // RFC 9649 3.4
			lossless = true
			bits := binary.LittleEndian.Uint32(body[1:])
			w, h = int(bits&0x3fff)+1, int(bits>>14&0x3fff)+1
		}
		cfg.Width, cfg.Height = max(cfg.Width, w), max(cfg.Height, h)
		at += 8 + size + size&1
	}
	// Both sides are padded to whole macroblocks of 16 by 16.
	n := int64(cfg.Width+15) * int64(cfg.Height+15)
	bytes := n*3/2 + n/16 + min(data.Size(), webpData) // luma, chroma, what is known of each macroblock
	if alpha || lossless {
		// Four bytes a pixel, half as much again for one packed with few colours, three
		// transforms and the map of its codes each at a quarter of the size, and the codes: up
		// to 256 bytes of memory for each byte of the file.
		bytes += n*27/4 - n*3/2 + min(256*data.Size(), webpCodes)
	}
	if alpha {
		bytes += n * 5 / 2 // luma, chroma and what shines through, of which colours are made
	}
	return cfg, bytes, nil
}

const (
	webpData  = 9 << 24     // the largest file of nine partitions that the decoder reads
	webpCodes = 130_000_000 // 2600 groups of five codes, the most that it takes
)
