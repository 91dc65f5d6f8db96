package terminal

import (
	"strings"

	"ecart/cmd/internal/fault"
)

// Door words options as flags, and operations as commands.
var Door = fault.Door{
	Option: func(name string) string { return "--" + name },
	Operation: func(name string, given ...string) string {
		return strings.ReplaceAll(Commands[name], "%s", strings.Join(given, " "))
	},
}

// ListDoor words the rows of a list, where options are columns.
var ListDoor = fault.Door{Option: fault.NoDoor.Option, Operation: Door.Operation}

// Commands are what does an operation on the command line; %s stands for what it is given.
var Commands = map[string]string{
	"check the rule book":                     "'ecart rules check %s'",
	"draw the cover by hand":                  "cover the head yourself with --cover x,y,r",
	"erase the reading":                       "'ecart journal erase --reading %s'",
	"export the journal":                      "'ecart journal export'",
	"find out how well somebody places marks": "'ecart repeat'",
	"follow stickers":                         "'ecart follow --csv'",
	"import a journal":                        "'ecart journal import FILE --journal NEW'",
	"keep a reading":                          "'ecart read TAKE --keep ATHLETE'",
	"keep a reading in its condition":         "'ecart read --keep ATHLETE --condition passive'",
	"list the measures":                       "'ecart read --help'",
	"list the readings":                       "'ecart journal list'",
	"list the skills":                         "'ecart rules'",
	"list who marked":                         "'ecart journal list --json'",
	"make a lens":                             "'ecart lens PICTURES... --out FILE'",
	"print a screen":                          "'ecart sheet screen'",
	"print a squad's screens":                 "'ecart sheet screens LIST'",
	"print the months":                        "'ecart sheet months'",
	"print the priors":                        "'ecart rules --priors'",
	"print the takes to make":                 "'ecart sheet screens LIST --to-take'",
	"propose the marks of":                    "'ecart propose TAKE --measure %s --out FILE'",
	"propose marks":                           "'ecart propose'",
	"read a squad":                            "'ecart squad'",
	"save the reading as JSON":                "'ecart read --json'",
	"show the change":                         "'ecart change'",
	"show the form of a marks file":           "'ecart read --help'",
	"show the reading":                        "'ecart journal show %s'",
}
