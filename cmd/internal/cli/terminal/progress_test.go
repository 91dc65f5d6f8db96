package terminal

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/locked"
)

func TestProgress(t *testing.T) {
	var b locked.Buffer
	done := tick(&b, `reading "leap.mp4"`, 5*time.Millisecond)
	require.Eventually(t, func() bool { return strings.Count(b.String(), "\r") > 1 }, 10*time.Second, time.Millisecond)
	done()
	done() // a second call does nothing
	said := b.String()
	assert.True(t, strings.HasPrefix(said, "\r\x1b[Kreading \"leap.mp4\", 0 s"), said)
	assert.True(t, strings.HasSuffix(said, "\r\x1b[K"), "the line is wiped away: %q", said)
	assert.NotContains(t, said, "\n")

	var quick locked.Buffer
	tick(&quick, "reading", time.Hour)()
	assert.Empty(t, quick.String(), "short work says nothing")

	var pipe bytes.Buffer
	Streams{Err: &pipe}.Working("reading")()
	assert.Empty(t, pipe.String(), "nor does any in a pipe")
}
