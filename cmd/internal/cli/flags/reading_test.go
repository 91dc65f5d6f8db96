package flags

import (
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
)

func TestJournalFlags(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", "/data")
	path, err := desk.New(desk.Options{}).JournalPath()
	require.NoError(t, err)
	assert.Equal(t, "/data/ecart/ecart.journal", path)
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--athlete", "Wren", "--measure", "hip-split", "--side", "left", "--state", "unknown", "--condition", "in-skill", "--from", "2026-01-01", "--to", "2026-01-01"}, ""},
		{[]string{"--state", "hot"}, `state "hot" is not known`},
		{[]string{"--measure", "hip"}, `measure "hip" is not known`},
		{[]string{"--from", "3 March"}, `from "3 March" is no date`},
		{[]string{"--to", "2026-02-30"}, `to "2026-02-30" is no date`},
		{[]string{"--from", "2026-03-02", "--to", "2026-03-01"}, "from 2026-03-02 is later than to 2026-03-01"},
	} {
		f := pflag.NewFlagSet("list", pflag.ContinueOnError)
		var q journal.Filter
		var file string
		AddJournal(f, &file)
		AddFilter(f, &q)
		require.NoError(t, f.Parse(append(c.args, "--journal", "here")))
		assert.Equal(t, "here", file)
		if err := desk.CheckFilter(q); c.says != "" {
			assert.ErrorContains(t, err, c.says)
		} else {
			assert.NoError(t, err)
		}
	}
}
