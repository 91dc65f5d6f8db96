package record

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
)

// ProtocolOptions are the flags of 'ecart protocol'.
type ProtocolOptions struct {
	Name               string
	condition, variant string
}

func NewProtocol(s terminal.Streams) *cobra.Command {
	var o ProtocolOptions
	var json bool
	c := &cobra.Command{
		Use:     "protocol MEASURE|MOVEMENT|CONTRAST --condition CONDITION",
		Short:   protocolShort,
		Long:    protocolLong,
		Example: protocolExample,
		Args:    flags.OneArg("measure"),
		RunE: func(_ *cobra.Command, args []string) error {
			o.Name = args[0]
			p, err := o.Find()
			if err != nil {
				return err
			}
			if json {
				return terminal.PrintJSON(s.Out, p)
			}
			return printProtocol(s.Out, p)
		},
	}
	o.AddFlags(c)
	c.Flags().BoolVar(&json, "json", false, "print it as JSON ("+desk.ProtocolSchema+")")
	return c
}

// AddFlags adds the flags that choose a card.
func (o *ProtocolOptions) AddFlags(c *cobra.Command) {
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.condition, "condition", "", "the `CONDITION` of the take: passive, active, in-skill or swung; of a contrast none")
	f.StringVar(&o.variant, "variant", "", "the `POSITION` where it is not the measure's usual one: 'ecart screen --list' has them")
}

// Find returns the card.
func (o *ProtocolOptions) Find() (*desk.Protocol, error) {
	return desk.FindProtocol(o.Name, o.variant, o.condition)
}

const (
	protocolShort = "how a take is made, so that the next one can be compared with it"
	protocolLong  = `Prints a card for a take of a measure or a movement in a condition: the position, who
moves the limb and how the load is kept alike, warm-up, order, how many takes, where
the camera stands, where the landmarks are felt, and what spoils it. A passive and an
active split are defined there. Of a contrast it says how its two takes are made.

Each line says where it comes from: most are common practice in halls and have no
source. A card prescribes no training.`
	protocolExample = `  ecart protocol hip-split --condition passive
  ecart protocol leg-front --condition active
  ecart protocol hip-flexion-knee
  ecart sheet protocol hip-split --condition passive --out card.html`
)

// printProtocol prints a card, narrow enough for a phone.
func printProtocol(w io.Writer, p *desk.Protocol) error {
	var out terminal.Printer
	title := p.Title
	if p.Condition != "" {
		title += ", " + p.Condition
	}
	out.Wrap("écart  ", "how a take is made: "+title)
	out.Line("")
	for _, l := range p.Lines {
		out.Line("%s", l.Head)
		out.Wrap("  ", l.Text)
		if l.Source != desk.Practice {
			out.Wrap("  ", fmt.Sprintf("(%s)", l.Source))
		}
	}
	out.Line("")
	out.Wrap("source:  ", desk.PracticeNote)
	for _, c := range p.Cautions {
		out.Wrap("caution: ", c)
	}
	return out.Print(w)
}
