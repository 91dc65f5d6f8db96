package fault

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

var flags = Door{
	func(name string) string { return "--" + name },
	func(name string, given ...string) string {
		return "'" + strings.Join(append([]string{name}, given...), " ") + "'"
	},
}

// Each door words the options of one error in its own way; a name that somebody typed
// stays as it is.
func TestWords(t *testing.T) {
	e := New(fmt.Sprintf("%s and %s disagree on %q", Option("camera"), Option("oblique"), "--camera"), "leave "+Option("oblique")+" out")
	assert.Equal(t, `camera and oblique disagree on "--camera"`, e.Error())
	assert.Equal(t, "leave oblique out", e.Hint())
	for _, err := range []error{e, fmt.Errorf("while reading: %w", e)} {
		fact, hint := Words(err, flags)
		assert.Contains(t, fact, `--camera and --oblique disagree on "--camera"`)
		assert.Equal(t, "leave --oblique out", hint)
	}
	fact, hint := Words(In("line 3", fmt.Errorf("a.csv: %w", e)), flags)
	assert.Equal(t, `line 3: a.csv: --camera and --oblique disagree on "--camera"`, fact)
	assert.Equal(t, "leave --oblique out", hint)

	fact, hint = Words(fs.ErrNotExist, flags)
	assert.Equal(t, fs.ErrNotExist.Error(), fact)
	assert.Empty(t, hint)
	assert.Equal(t, fs.ErrNotExist, In("line 3", fs.ErrNotExist), "nothing to do is known")
	assert.Equal(t, "open "+begin+"x", New("open "+begin+"x", "").Error(), "a mark without its end")
}

// Operations are worded like options, with what they are given, and stand bare in quotation
// marks; what is marked stays so.
func TestOperations(t *testing.T) {
	e := New(Operation("list")+" has no "+Option("athlete"), Operation("erase", "7")+" makes room; see "+Operation("list"))
	assert.Equal(t, "“list” has no athlete", e.Error())
	assert.Equal(t, "“erase 7” makes room; see “list”", e.Hint())
	fact, hint := Words(In("line 3", e), flags)
	assert.Equal(t, "line 3: 'list' has no --athlete", fact)
	assert.Equal(t, "'erase 7' makes room; see 'list'", hint)
	again, do := Marked(e)
	fact, hint = Words(New(again, do), flags)
	assert.Equal(t, "'list' has no --athlete", fact)
	assert.Equal(t, "'erase 7' makes room; see 'list'", hint)
}

func TestKinds(t *testing.T) {
	failed := Failed("a", "b", fs.ErrNotExist)
	assert.True(t, failed.Failed() && !failed.Stopped() && errors.Is(failed, fs.ErrNotExist))
	stopped := Stopped("a", "b")
	assert.True(t, stopped.Failed() && stopped.Stopped())
	wrong := New("a", "b")
	assert.False(t, wrong.Failed() || wrong.Stopped())
	assert.ErrorIs(t, wrong.Because(fs.ErrExist), fs.ErrExist)
	assert.NotErrorIs(t, wrong, fs.ErrExist)
	var in *Error
	assert.ErrorAs(t, In("here", failed), &in)
	assert.True(t, in.Failed())
	assert.ErrorIs(t, in, fs.ErrNotExist)
}
