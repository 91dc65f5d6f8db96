package take

import (
	"ecart/vision/internal/av"
	"ecart/vision/internal/hevc"
)

// judge looks whether coded HEVC pictures are whole, which their decoder does not.
type judge struct {
	checker hevc.Checker
	size    int // of a NAL unit's length field, bytes; 0 for start codes
}

// newJudge makes a judge for pictures with this configuration of a decoder.
func newJudge(config []byte) *judge {
	j := &judge{}
	if isRecord(config) {
		j.size = int(config[21]&3) + 1
	}
	j.checker.Packet(configUnits(config))
	return j
}

func (j *judge) of(coded []byte) hevc.Verdict { return j.checker.Packet(units(coded, j.size)) }

// judge makes a judge for one reader of the clip; nil where its packets are not judged.
func (x *index) judge(clip *av.Clip) *judge {
	if !x.judged {
		return nil
	}
	return newJudge(clip.Config())
}
