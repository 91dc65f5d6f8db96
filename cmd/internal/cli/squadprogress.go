package cli

import (
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"
)

// squadProgress is a line on a terminal that says how far a list is read, and
// nothing elsewhere.
type squadProgress struct {
	mu      sync.Mutex
	w       io.Writer // nil: nobody looks
	of      int
	read    int
	failed  int
	before  int // those that failed before the clock was started
	began   time.Time
	now     []*squadJob // those at work
	doing   map[*squadJob]string
	stopped chan struct{}
	ended   chan struct{}
}

func newSquadProgress(s streams, of int) *squadProgress {
	p := &squadProgress{of: of, began: time.Now(), doing: map[*squadJob]string{}}
	if f, ok := s.err.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.start(f, patience/4)
	}
	return p
}

// start shows the line, anew at every interval.
func (p *squadProgress) start(w io.Writer, every time.Duration) {
	p.w, p.stopped, p.ended = w, make(chan struct{}), make(chan struct{})
	go func() {
		defer close(p.ended)
		t := time.NewTicker(every)
		defer t.Stop()
		for {
			select {
			case <-t.C:
				fmt.Fprint(p.w, "\r\x1b[K"+p.line())
			case <-p.stopped:
				fmt.Fprint(p.w, "\r\x1b[K")
				return
			}
		}
	}()
}

// stop wipes the line away.
func (p *squadProgress) stop() {
	if p.w != nil {
		close(p.stopped)
		<-p.ended
	}
}

// begin starts the clock by which the time left is told; some rows have failed
// already.
func (p *squadProgress) begin(failed int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.began, p.now, p.read, p.failed = time.Now(), nil, failed, failed
	p.before = failed
	clear(p.doing)
}

// about says what a row is at.
func (p *squadProgress) about(j *squadJob, doing string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.doing[j] = doing; !slices.Contains(p.now, j) {
		if p.now = append(p.now, j); len(p.now) > squadAtOnce {
			p.now = p.now[1:]
		}
	}
}

// done counts a row.
func (p *squadProgress) done(j *squadJob) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.read++; j.err != nil {
		p.failed++
	}
	p.now = slices.DeleteFunc(p.now, func(o *squadJob) bool { return o == j })
	delete(p.doing, j)
}

// line is how far it is, no wider than a terminal.
func (p *squadProgress) line() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	parts := []string{fmt.Sprintf("%d of %d rows", p.read, p.of)}
	if p.failed > 0 {
		parts = append(parts, fmt.Sprintf("%d failed", p.failed))
	}
	if gone := time.Since(p.began); p.read > p.before && p.read < p.of && gone > patience {
		parts = append(parts, fmt.Sprintf("about %.0f s left", gone.Seconds()/float64(p.read-p.before)*float64(p.of-p.read)))
	}
	for _, j := range p.now {
		parts = append(parts, oneLine(j.row.Athlete)+" "+p.doing[j])
	}
	text := []rune(strings.Join(parts, "; "))
	return string(text[:min(len(text), helpWidth-1)])
}
