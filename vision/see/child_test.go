package see

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/see/seetest"
)

func TestMain(m *testing.M) { os.Exit(seetest.Tests{M: m}.Run()) }

// squares is a question whose picture shows a board of 7 by 5 inner corners with
// squares of 20 px, its first corner at (79.5, 59.5).
func squares() *Question {
	q := &Question{Width: 300, Height: 220, Columns: 7, Rows: 5, Side: 1000, Grey: make([]byte, 300*220)}
	for y := range q.Height {
		for x := range q.Width {
			q.Grey[y*q.Width+x] = 230
			c, r := x/20-3, y/20-2
			if x >= 60 && y >= 40 && c < 8 && r < 6 && (c+r)%2 == 0 {
				q.Grey[y*q.Width+x] = 20
			}
		}
	}
	return q
}

// long is a slow question: the thorough search of a large picture of noise.
func long() *Question {
	q := &Question{Width: 3000, Height: 2000, Columns: 9, Rows: 6, Side: 3000, Thorough: true, Grey: make([]byte, 3000*2000)}
	state := uint32(1)
	for i := range q.Grey {
		state = state*1664525 + 1013904223
		q.Grey[i] = byte(state >> 24)
	}
	return q
}

func TestCornersOfABoard(t *testing.T) {
	var c Child
	defer c.Close()
	for _, thorough := range []bool{false, true} {
		q := squares()
		q.Thorough = thorough
		a, err := c.Ask(t.Context(), q)
		require.NoError(t, err)
		require.Len(t, a.Corners, 35)
		for i, p := range a.Corners {
			k := i
			if a.Corners[0][0] > 150 { // the finder began at the other end
				k = 34 - i
			}
			assert.InDelta(t, 79.5+20*float64(k%7), p[0], 0.1, "corner %d", i)
			assert.InDelta(t, 59.5+20*float64(k/7), p[1], 0.1, "corner %d", i)
		}
	}
	q := squares()
	q.Columns = 8
	a, err := c.Ask(t.Context(), q)
	require.NoError(t, err)
	assert.Empty(t, a.Corners, "another board")
}

// If the child dies, the question returns ErrStopped and the next question is answered.
func TestADeadChildIsReplaced(t *testing.T) {
	var c Child
	defer c.Close()
	_, err := c.Ask(t.Context(), squares())
	require.NoError(t, err)
	process := c.command.Process
	time.AfterFunc(50*time.Millisecond, func() { _ = process.Kill() })
	_, err = c.Ask(t.Context(), long())
	require.ErrorIs(t, err, ErrStopped)
	a, err := c.Ask(t.Context(), squares())
	require.NoError(t, err)
	assert.Len(t, a.Corners, 35)
}

func TestContextEndsAsk(t *testing.T) {
	var c Child
	defer c.Close()
	_, err := c.Ask(t.Context(), squares())
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	start := time.Now()
	_, err = c.Ask(ctx, long())
	require.ErrorIs(t, err, context.DeadlineExceeded)
	assert.Less(t, time.Since(start), 500*time.Millisecond)
	a, err := c.Ask(t.Context(), squares())
	require.NoError(t, err)
	assert.Len(t, a.Corners, 35)
}

// The child ends when its input ends, even while it searches a picture. It ignores
// Ctrl-C, which the parent handles.
func TestTheChildEndsWithItsParent(t *testing.T) {
	command := exec.Command(os.Getenv(variable))
	in, err := command.StdinPipe()
	require.NoError(t, err)
	require.NoError(t, command.Start())
	require.NoError(t, WriteQuestion(in, squares()))
	require.NoError(t, command.Process.Signal(syscall.SIGINT))
	require.NoError(t, WriteQuestion(in, long()), "it still reads after Ctrl-C")
	require.NoError(t, in.Close())
	ended := make(chan error, 1)
	go func() { ended <- command.Wait() }()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(2 * time.Second):
		_ = command.Process.Kill()
		t.Fatal("the child outlives its parent")
	}
}

func TestMissingChild(t *testing.T) {
	t.Setenv(variable, filepath.Join(t.TempDir(), "none"))
	var c Child
	_, err := c.Ask(t.Context(), squares())
	var missing *Missing
	require.ErrorAs(t, err, &missing)
	assert.Contains(t, missing.Hint(), "ecart-see")
	t.Setenv(variable, "")
	t.Setenv("PATH", t.TempDir())
	_, err = c.Ask(t.Context(), squares())
	require.ErrorAs(t, err, &missing)
	assert.Contains(t, err.Error(), "ecart-see")
}

// A question that cannot be used is answered with a reason.
func TestWrongQuestions(t *testing.T) {
	var c Child
	defer c.Close()
	for name, change := range map[string]func(*Question){
		"columns": func(q *Question) { q.Columns = 2 },
		"rows":    func(q *Question) { q.Rows = 41 },
		"side":    func(q *Question) { q.Side = 0 },
	} {
		q := squares()
		change(q)
		a, err := c.Ask(t.Context(), q)
		require.NoError(t, err, name)
		assert.NotEmpty(t, a.Error, name)
	}
	q := squares()
	q.Width = 7 // not a picture: the child ends
	_, err := c.Ask(t.Context(), q)
	require.ErrorIs(t, err, ErrStopped)
}
