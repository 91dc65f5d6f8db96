package page

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	faults "ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// The page words what an error names as what is on the page: no command and no flag.
func TestErrorsNameWhatIsOnThePage(t *testing.T) {
	_, noHead := figure.HeadCover([]reading.Placement{{Landmark: "hip", X: 1, Y: 2}}, "hip-split")
	arm, _ := geometry.Lookup("shoulder-flexion")
	_, noFacing := arm.Bind(map[string]geometry.Point{"hip": {}, "shoulder": {Y: 100}, "wrist": {X: 10, Y: 200}}, geometry.Options{})
	for want, err := range map[string]error{
		"mark the shoulder and the hip, or draw the cover by hand": noHead,
		"say which way the chest faces: left or right":             desk.Optioned(noFacing),
		"give the day, and say so with the button below":           faults.New("", "give "+faults.Option("day")+", and say so with "+faults.Option("beyond")),
		"the list of athletes shows the numbers there are":         faults.New("", faults.Operation("list the readings")+" shows the numbers there are"),
		"“erase the reading 7” makes room":                         faults.New("", faults.Operation("erase the reading", "7")+" makes room"),
	} {
		_, said := say(onPage(err))
		assert.Equal(t, want, said.Hint)
		_, said = say(err)
		if !errors.As(err, new(*geometry.OptionError)) {
			assert.Equal(t, want, said.Hint)
		}
	}
}

// What the page calls otherwise is an operation that there is.
func TestPlacesAreOfOperations(t *testing.T) {
	for name := range places {
		assert.Contains(t, terminal.Commands, name)
	}
}

// Nothing that a reading says needs to be worded for the page.
func TestAReadingNamesNoFlag(t *testing.T) {
	r := demoReading(t)
	said := strings.Join(append(append(append([]string{}, r.Advice...), r.Notes...), r.Cautions...), "\n")
	for _, b := range r.Budget {
		said += "\n" + b.How
	}
	assert.NotEmpty(t, said)
	assert.NotRegexp(t, `--[a-z]|'ecart |[\x0e-\x10]`, said)
}
