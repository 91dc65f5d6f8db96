package take

import (
	"ecart/vision/internal/av"
	"ecart/vision/internal/hevc"
)

// judge looks whether the coded pictures of an HEVC clip are whole, which its decoder does not.
type judge struct {
	checker hevc.Checker
	size    int // of a NAL unit's length field, bytes; 0 for start codes
}

// newJudge returns nil for other codecs.
func newJudge(clip *av.Clip) *judge {
	s := clip.Stream()
	if s.Codec != "hevc" {
		return nil
	}
	j := &judge{size: s.NALLength}
	j.checker.Packet(configUnits(clip.Config()))
	return j
}

func (j *judge) of(p av.Packet) hevc.Verdict { return j.checker.Packet(units(p.Data, j.size)) }
