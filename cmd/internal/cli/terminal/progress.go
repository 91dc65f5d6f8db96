package terminal

import (
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"
)

// Patience is how long work runs before progress is shown.
const Patience = time.Second

// Working shows on a terminal, after Patience, what is running and for how long. Call done before
// anything else is printed: it clears the line. If standard error is no terminal, nothing is
// shown.
func (s Streams) Working(what string) (done func()) {
	f, ok := s.Err.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return func() {}
	}
	return tick(f, what, Patience)
}

// tick writes what and the elapsed seconds at every interval.
func tick(w io.Writer, what string, every time.Duration) (done func()) {
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		t := time.NewTicker(every)
		defer t.Stop()
		shown := false
		for start := time.Now(); ; {
			select {
			case <-t.C:
				fmt.Fprintf(w, "\r\x1b[K%s, %.0f s", what, time.Since(start).Seconds())
				shown = true
			case <-stop:
				if shown {
					fmt.Fprint(w, "\r\x1b[K")
				}
				return
			}
		}
	}()
	return func() {
		select {
		case <-stop:
		default:
			close(stop)
		}
		<-stopped
	}
}

// tally shows on a terminal how far work has come; elsewhere it prints nothing.
type tally struct {
	w     io.Writer
	last  time.Time
	shown bool
}

func NewTally(w io.Writer) *tally {
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return &tally{w: w, last: time.Now()}
	}
	return &tally{}
}

func (p *tally) Say(line string) {
	const often = 100 * time.Millisecond
	if p.w == nil || time.Since(p.last) < often {
		return
	}
	fmt.Fprint(p.w, "\r\x1b[K"+line)
	p.last, p.shown = time.Now(), true
}

func (p *tally) Wipe() {
	if p.shown {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}
