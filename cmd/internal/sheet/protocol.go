package sheet

import "io"

// ProtocolInput is a card that says how a take is made.
type ProtocolInput struct {
	Title     string // of the measure and position
	Condition string // "" for a pair of takes
	Lines     []ProtocolLine
	Cautions  []string
	Sources   string // a note on lines without a source
}

// ProtocolLine is one thing that a card says, with where it comes from.
type ProtocolLine struct{ Head, Text, Source string } // Source "": common practice

type protocolPage struct {
	W     *protocolWords
	Lines []ProtocolLine
	Cares []string
	Note  string
}

// WriteProtocol writes a protocol card, for whoever makes the take.
func WriteProtocol(w io.Writer, in ProtocolInput, opt Options) error {
	s, _, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if len(in.Lines) == 0 {
		return problem("name a measure and a condition that have a card", "there is no protocol to put on a page")
	}
	p := protocolPage{W: &s.kind().protocol, Note: s.sentence(in.Sources)}
	for _, l := range in.Lines {
		p.Lines = append(p.Lines, ProtocolLine{l.Head, s.sentence(l.Text), l.Source})
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	var facts []string
	if in.Condition != "" {
		facts = append(facts, lookup(p.W.condition, in.Condition))
	}
	return s.writePage(w, "protocol", in.Title, p.W.title, facts, p)
}
