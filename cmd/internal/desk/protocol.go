package desk

import (
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/sheet"
)

// ProtocolSchema names the version of the JSON of a Protocol.
const ProtocolSchema = "ecart/protocol/1"

// Practice is the source of what is common practice; PracticeNote says this about lines without
// another source.
const (
	Practice     = movement.Practice
	PracticeNote = "what has no source beside it is common practice in halls"
)

// Protocol says how a take is made. It is written as JSON too.
type Protocol struct {
	Schema    string         `json:"schema"`
	Name      string         `json:"name"` // of the measure, movement or contrast
	Title     string         `json:"title"`
	Condition string         `json:"condition,omitempty"`
	Lines     []ProtocolLine `json:"lines"`
	Cautions  []string       `json:"cautions"`
}

// ProtocolLine is one instruction of a Protocol.
type ProtocolLine struct {
	Head   string `json:"head"`
	Text   string `json:"text"`
	Source string `json:"source"`
}

// ProtocolNames returns the measures, movements and contrasts that have a protocol card.
func ProtocolNames() []string { return movement.CardNames() }

// FindProtocol returns the card of a measure, a movement or a contrast in a condition and a
// position.
func FindProtocol(name, variant, condition string) (*Protocol, error) {
	var names []string
	names = append(append(names, movement.CardNames()...), movement.Names()...)
	if !slices.Contains(names, name) {
		return nil, fault.New("there is no protocol of \""+name+"\"", "it is one of "+strings.Join(movement.CardNames(), ", "))
	}
	if err := OneOf("condition", condition, movement.Conditions...); err != nil {
		return nil, err
	}
	if err := OneOf("variant", variant, movement.VariantNames("")...); err != nil {
		return nil, err
	}
	if _, pair := movement.FindContrast(name); condition == "" && !pair {
		return nil, fault.New("it is not said in which condition the take of "+name+" is made", "give "+fault.Option("condition")+" "+strings.Join(movement.Conditions, ", "))
	}
	c, err := movement.FindCard(name, variant, condition)
	if err != nil {
		do := "leave " + fault.Option("variant") + " and " + fault.Option("condition") + " out, or give those that belong to it"
		if names := movement.VariantNames(name); variant != "" && len(names) > 0 {
			do = "its positions are " + strings.Join(names, ", ")
		}
		return nil, fault.New(err.Error(), do)
	}
	p := &Protocol{Schema: ProtocolSchema, Name: c.Name, Title: c.Title, Condition: c.Condition, Cautions: c.Cautions}
	for _, l := range c.Lines {
		p.Lines = append(p.Lines, ProtocolLine(l))
	}
	return p, nil
}

// ProtocolPage returns the data of the page of a protocol card.
func ProtocolPage(p *Protocol) sheet.ProtocolInput {
	in := sheet.ProtocolInput{Title: p.Title, Condition: p.Condition, Cautions: p.Cautions, Sources: PracticeNote}
	for _, l := range p.Lines {
		line := sheet.ProtocolLine(l)
		if line.Source == Practice {
			line.Source = ""
		}
		in.Lines = append(in.Lines, line)
	}
	return in
}
