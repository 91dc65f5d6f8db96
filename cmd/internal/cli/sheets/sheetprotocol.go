package sheets

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	command "ecart/cmd/internal/cli/record"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/sheet"
)

// sheetProtocolOptions are the flags of 'ecart sheet protocol', as typed.
type sheetProtocolOptions struct {
	command.ProtocolOptions
	page sheetPage
}

func newSheetProtocol(s terminal.Streams) *cobra.Command {
	var o sheetProtocolOptions
	c := &cobra.Command{
		Use:   "protocol MEASURE|MOVEMENT|CONTRAST --condition CONDITION",
		Short: "how a take is made: the card that 'ecart protocol' prints",
		Long: `Writes on a page how a take is made, to hang up in the hall: what 'ecart protocol'
prints, with lines for what is set there, such as the camera's place.`,
		Example: `  ecart sheet protocol hip-split --condition passive --out card.html
  ecart sheet protocol hip-flexion-knee --out pair.html`,
		Args: flags.OneArg("measure"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Name = args[0]
			return sheetProtocolRun(c.Context(), s, &o)
		},
	}
	o.AddFlags(c)
	o.page.addFlags(c.Flags())
	return c
}

func sheetProtocolRun(ctx context.Context, s terminal.Streams, o *sheetProtocolOptions) error {
	return o.page.ofAthlete(ctx, s, "protocol", string(sheet.Coach), "", func() (string, writesPage, error) {
		p, err := o.Find()
		if err != nil {
			return "", nil, err
		}
		in := desk.ProtocolPage(p)
		return "", func(w io.Writer, opt sheet.Options) error { return sheet.WriteProtocol(w, in, opt) }, nil
	})
}
