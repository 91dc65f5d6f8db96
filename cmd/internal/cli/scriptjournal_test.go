package cli

import (
	"github.com/rogpeppe/go-internal/testscript"

	"ecart/cmd/internal/trial/desktest"
)

// keepTable puts readings into a journal, one a line of TABLE: athlete, day, side,
// state, condition, measure, angle, its standard uncertainty and what was asked, all
// in degrees, a hyphen where nothing was said, and then what else is said of it, such
// as session=evening: keep-table JOURNAL TABLE
func keepTable(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: keep-table JOURNAL TABLE")
	}
	ts.Check(desktest.Keep(ts.MkAbs(args[0]), ts.ReadFile(args[1])))
}
