package flags

import (
	"github.com/spf13/pflag"

	"ecart/cmd/internal/desk"
)

// CoverHelp is what every command with a cover says of it.
const CoverHelp = `--faceless covers the athlete's head with paper, worked out from the marks: a
shoulder says where it is, and the body how large. The cover is wide, since a
neck bends. --cover x,y,r puts a circle of your own in its place, and may be
given again for others in the picture, whom no mark tells of: look at the
picture before it leaves your hands. A covered picture names no file.`

func AddCover(f *pflag.FlagSet, c *desk.Cover) {
	AddFaceless(f, c)
	f.StringArrayVar(&c.At, "cover", nil, "cover a circle in place of that: `X,Y,R` are its middle and radius in pixels; may be given again")
}

func AddFaceless(f *pflag.FlagSet, c *desk.Cover) {
	f.BoolVar(&c.Faceless, "faceless", false, "cover the head in every picture that is written")
}
