package squad

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/trial/locked"
)

func TestSquadProgress(t *testing.T) {
	p := newSquadProgress(terminal.Streams{Err: &bytes.Buffer{}}, 4)
	assert.Nil(t, p.w, "nobody looks at a pipe")
	wren, plover := &session.Row{Athlete: "Wren"}, &session.Row{Athlete: strings.Repeat("Plover ", 20)}
	p.handle(session.Event{Step: session.Started, Failed: 1})
	p.handle(session.Event{Step: session.Following, Row: wren, Frame: 7, Frames: 300})
	p.handle(session.Event{Step: session.Opening, Row: plover})
	line := p.line()
	assert.True(t, strings.HasPrefix(line, "1 of 4 rows; 1 failed; Wren frame 7 of 300; Plover"), line)
	assert.Less(t, len([]rune(line)), terminal.HelpWidth)
	p.handle(session.Event{Step: session.Ended, Row: plover})
	p.began = p.began.Add(-3 * time.Second)
	assert.Equal(t, "2 of 4 rows; 1 failed; about 6 s left; Wren frame 7 of 300", p.line())

	var b locked.Buffer
	p.start(&b, time.Millisecond)
	require.Eventually(t, func() bool { return strings.Contains(b.String(), "\r\x1b[K2 of 4 rows") }, 10*time.Second, time.Millisecond)
	p.stop()
	assert.True(t, strings.HasSuffix(b.String(), "\r\x1b[K"), "the line is wiped away")
}
