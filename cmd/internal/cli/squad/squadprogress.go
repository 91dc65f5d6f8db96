package squad

import (
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/session"
)

// squadProgress shows on one line of a terminal how far a list is read; without a terminal it
// prints nothing.
type squadProgress struct {
	mu          sync.Mutex
	w           io.Writer // nil if no terminal is there
	of          int       // rows of the list
	ended       int       // rows that were read or failed
	failed      int
	endedBefore int // rows that failed before the clock was started
	began       time.Time
	now         []*session.Row // being read
	doing       map[*session.Row]string
	stopping    chan struct{}
	stopped     chan struct{}
}

func newSquadProgress(s terminal.Streams, of int) *squadProgress {
	p := &squadProgress{of: of, began: time.Now(), doing: map[*session.Row]string{}}
	if f, ok := s.Err.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.start(f, terminal.Patience/4)
	}
	return p
}

// start shows the line at every interval.
func (p *squadProgress) start(w io.Writer, every time.Duration) {
	p.w, p.stopping, p.stopped = w, make(chan struct{}), make(chan struct{})
	go func() {
		defer close(p.stopped)
		t := time.NewTicker(every)
		defer t.Stop()
		for {
			select {
			case <-t.C:
				fmt.Fprint(p.w, "\r\x1b[K"+p.line())
			case <-p.stopping:
				fmt.Fprint(p.w, "\r\x1b[K")
				return
			}
		}
	}()
}

// stop clears the line.
func (p *squadProgress) stop() {
	if p.w != nil {
		close(p.stopping)
		<-p.stopped
	}
}

// handle handles an event of the run.
func (p *squadProgress) handle(e session.Event) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e.Step {
	case session.Checking:
		p.show(e.Row, "looking at it")
	case session.Started: // the clock by which the time left is estimated starts here
		p.began, p.now, p.ended, p.failed, p.endedBefore = time.Now(), nil, e.Failed, e.Failed, e.Failed
		clear(p.doing)
	case session.Opening:
		p.show(e.Row, "opening")
	case session.Following:
		p.show(e.Row, fmt.Sprintf("frame %d of %d", e.Frame, e.Frames))
	case session.Ended:
		if p.ended++; e.Err != nil {
			p.failed++
		}
		p.now = slices.DeleteFunc(p.now, func(r *session.Row) bool { return r == e.Row })
		delete(p.doing, e.Row)
	}
}

// show adds a row to those being read.
func (p *squadProgress) show(r *session.Row, doing string) {
	if p.doing[r] = doing; !slices.Contains(p.now, r) {
		if p.now = append(p.now, r); len(p.now) > session.AtOnce {
			p.now = p.now[1:]
		}
	}
}

// line returns the text, no wider than a terminal.
func (p *squadProgress) line() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	parts := []string{fmt.Sprintf("%d of %d rows", p.ended, p.of)}
	if p.failed > 0 {
		parts = append(parts, fmt.Sprintf("%d failed", p.failed))
	}
	if gone := time.Since(p.began); p.ended > p.endedBefore && p.ended < p.of && gone > terminal.Patience {
		parts = append(parts, fmt.Sprintf("about %.0f s left", gone.Seconds()/float64(p.ended-p.endedBefore)*float64(p.of-p.ended)))
	}
	for _, r := range p.now {
		parts = append(parts, terminal.OneLine(r.Athlete)+" "+p.doing[r])
	}
	text := []rune(strings.Join(parts, "; "))
	return string(text[:min(len(text), terminal.HelpWidth-1)])
}
