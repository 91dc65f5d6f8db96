package see

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
)

// program is the file name of the child. It is looked for in the folder of the running
// program and on the PATH. The environment variable ECART_SEE gives another path.
const (
	program  = "ecart-see"
	variable = "ECART_SEE"
)

// Missing is the error if the child program is not found or does not start.
type Missing struct{ fact string }

func (e *Missing) Error() string { return e.fact }

// Hint says what to do next.
func (e *Missing) Hint() string {
	return "make build puts ecart-see beside ecart: install or copy both"
}

// ErrStopped is the error if the child ended without answering, or if its answer is invalid, such as that
// of another version. If it ended, the next question starts it again.
var ErrStopped = errors.New("the program ecart-see ended")

// Child is the child program. Its zero value is ready: the first question starts
// it. It answers one question at a time and may be used from several goroutines.
type Child struct {
	mu      sync.Mutex
	command *exec.Cmd // nil: not running
	in      io.WriteCloser
	out     *bufio.Reader
	loaded  *Network // in the running child
}

// Ask sends a question and waits for its answer. If the context ends first, the
// child is killed. The error is a *Missing, ErrStopped, or the context's.
func (c *Child) Ask(ctx context.Context, q *Question) (*Answer, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	var a *Answer
	err := c.exchange(ctx, func(w io.Writer) error { return WriteQuestion(w, q) },
		func(r io.Reader) (err error) { a, err = ReadAnswer(r); return err })
	return a, err
}

// Look runs a network on a picture. It loads the network if the running child has not
// loaded it. The error is a *Missing, ErrStopped, or the context's. If the child refuses the
// network or the picture, the error wraps ErrStopped with the child's message, which is not
// meant for users.
func (c *Child) Look(ctx context.Context, n *Network, p *Picture) (*Seen, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.command == nil || c.loaded != n {
		var a *Seen
		err := c.exchange(ctx, func(w io.Writer) error { return WriteNetwork(w, n) },
			func(r io.Reader) (err error) { a, err = ReadSeen(r, networkMark); return err })
		if err != nil {
			return nil, err
		}
		if a.Error != "" {
			return nil, fmt.Errorf("%w: %s", ErrStopped, a.Error)
		}
		c.loaded = n
	}
	var a *Seen
	err := c.exchange(ctx, func(w io.Writer) error { return WritePicture(w, p) },
		func(r io.Reader) (err error) { a, err = ReadSeen(r, pictureMark); return err })
	if err != nil {
		return nil, err
	}
	if a.Error != "" {
		return nil, fmt.Errorf("%w: %s", ErrStopped, a.Error)
	}
	return a, nil
}

// exchange writes a frame and reads the answer. c.mu is locked.
func (c *Child) exchange(ctx context.Context, write func(io.Writer) error, read func(io.Reader) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := c.start(); err != nil {
		return err
	}
	process := c.command.Process
	stop := context.AfterFunc(ctx, func() { _ = process.Kill() })
	defer stop()

	// If the child ends early, writing fails, and so does reading the answer. Only
	// the error of reading is used.
	written := make(chan struct{})
	go func() {
		_ = write(c.in)
		close(written)
	}()
	err := read(c.out)
	if err != nil {
		_ = process.Kill()
	}
	<-written
	if err == nil {
		return nil
	}
	c.end()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return ErrStopped
}

// Close ends the child. The next question would start it again.
func (c *Child) Close() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.command != nil {
		c.end()
	}
}

func (c *Child) start() error {
	if c.command != nil {
		return nil
	}
	path, err := find()
	if err != nil {
		return err
	}
	command := exec.Command(path)
	command.Env = append(os.Environ(), "OPENCV_LOG_LEVEL=OFF")
	in, err := command.StdinPipe()
	if err != nil {
		return err
	}
	out, err := command.StdoutPipe()
	if err != nil {
		return err
	}
	if err := command.Start(); err != nil {
		return &Missing{fmt.Sprintf("%q cannot be started: %v", path, err)}
	}
	c.command, c.in, c.out = command, in, bufio.NewReader(out)
	return nil
}

// end closes the child's input, which ends the child, and waits for it.
func (c *Child) end() {
	_ = c.in.Close()
	_ = c.command.Wait()
	c.command, c.loaded = nil, nil
}

func find() (string, error) {
	if path := os.Getenv(variable); path != "" {
		return path, nil
	}
	if own, err := os.Executable(); err == nil {
		if target, err := filepath.EvalSymlinks(own); err == nil {
			own = target
		}
		if path := filepath.Join(filepath.Dir(own), program); isFile(path) {
			return path, nil
		}
	}
	path, err := exec.LookPath(program)
	if err != nil {
		return "", &Missing{fmt.Sprintf("the program %s, which links OpenCV, is not beside ecart and not on the PATH", program)}
	}
	return path, nil
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}
