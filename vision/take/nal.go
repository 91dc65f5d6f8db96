package take

import (
	"bytes"
	"encoding/binary"

	"ecart/vision/internal/hevc"
)

// cleanStart reports whether decoding may start at a key packet and give the same pictures, from
// that picture on in the order of showing, as a decode from the start of the clip. Containers
// also mark pictures after which decoding takes several frames to become correct (gradual refresh).
// For H.264 and HEVC the coded bytes therefore decide:
//
//   - H.264 (ITU-T H.264 7.4.1.2.1, D.2.8): an IDR picture, or a recovery point that is exact
//     and takes no further frames.
//   - HEVC (ITU-T H.265 7.4.2.2): an IRAP picture, NAL unit types 16 to 21.
//
// For other codecs the container's mark is right. size is the number of bytes of a NAL unit's
// length field, 0 if units are separated by start codes.
func cleanStart(codec string, data []byte, size int) bool {
	switch codec {
	case "h264":
		for unit := range units(data, size) {
			switch unit[0] & 0x1f {
			case 5:
				return true
			case 6:
				if exactRecovery(unit[1:]) {
					return true
				}
			case 1, 2:
				return false
			}
		}
		return false
	case "hevc":
		for unit := range units(data, size) {
			if t := unit[0] >> 1 & 0x3f; t < 32 { // the first coded slice
				return t >= 16 && t <= 21
			}
		}
		return false
	}
	return true
}

// units iterates over the NAL units of a packet, none of them empty.
func units(data []byte, size int) func(func([]byte) bool) {
	if size == 0 {
		return startCodeUnits(data)
	}
	return func(yield func([]byte) bool) {
		for len(data) > size {
			n := 0
			for _, b := range data[:size] {
				n = n<<8 | int(b)
			}
			data = data[size:]
			if n <= 0 || n > len(data) {
				return
			}
			if !yield(data[:n]) {
				return
			}
			data = data[n:]
		}
	}
}

// isRecord reports whether a decoder's configuration is an hvcC record, in its only version.
func isRecord(config []byte) bool { return len(config) >= 23 && config[0] == 1 }

// configUnits iterates over the NAL units of an hvcC record (ISO/IEC 14496-15 8.3.3.1), or of parameter sets with
// start codes.
func configUnits(config []byte) func(func([]byte) bool) {
	if !isRecord(config) {
		return startCodeUnits(config)
	}
	return func(yield func([]byte) bool) {
		data := config[23:]
		for range config[22] {
			if len(data) < 3 {
				return
			}
			n := int(binary.BigEndian.Uint16(data[1:]))
			data = data[3:]
			for range n {
				if len(data) < 2 {
					return
				}
				size := int(binary.BigEndian.Uint16(data))
				if data = data[2:]; size > len(data) || size > 0 && !yield(data[:size]) {
					return
				}
				data = data[size:]
			}
		}
	}
}

func startCodeUnits(data []byte) func(func([]byte) bool) {
	code := []byte{0, 0, 1}
	return func(yield func([]byte) bool) {
		i := bytes.Index(data, code)
		for i >= 0 {
			data = data[i+len(code):]
			i = bytes.Index(data, code)
			unit := data
			if i >= 0 {
				unit = data[:i]
			}
			if len(unit) > 0 && !yield(unit) {
				return
			}
		}
	}
}

// exactRecovery reports whether an SEI unit, given without its header byte, holds a recovery point with
// recovery_frame_cnt 0 and exact_match_flag 1.
func exactRecovery(unit []byte) bool {
	sei := hevc.Unescape(unit)
	for len(sei) > 2 { // a message is longer than the trailing bits
		var kind, size int
		if kind, sei = seiNumber(sei); sei == nil {
			return false
		}
		if size, sei = seiNumber(sei); sei == nil || size > len(sei) {
			return false
		}
		// ue(v) 0 is the bit 1, and the flag follows it.
		if kind == 6 && size > 0 && sei[0]&0xc0 == 0xc0 {
			return true
		}
		sei = sei[size:]
	}
	return false
}

// seiNumber reads a payload type or size; the rest is nil where the unit ends within it.
func seiNumber(sei []byte) (int, []byte) {
	n := 0
	for i, b := range sei {
		n += int(b)
		if b != 0xff {
			return n, sei[i+1:]
		}
	}
	return 0, nil
}
