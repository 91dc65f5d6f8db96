// Command ecart-see finds the corners of boards and runs networks with OpenCV, for
// the program ecart, which starts it. It reads questions from standard input and writes answers
// to standard output (package see). It is a separate program because OpenCV may end
// the process.
package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"

	"ecart/vision/see"
)

func main() {
	signal.Ignore(os.Interrupt) // Ctrl-C reaches the parent too, which handles it
	if len(os.Args) > 1 {
		fmt.Fprintln(os.Stderr, "ecart-see is started by ecart and takes no arguments: try ecart lens --help or ecart propose --help")
		os.Exit(2)
	}
	if err := serve(bufio.NewReader(os.Stdin), os.Stdout, func() { os.Exit(0) }); err != nil {
		fmt.Fprintln(os.Stderr, "ecart-see:", err)
		os.Exit(1)
	}
}

// serve answers questions until the input ends. It reads while a picture is searched,
// and calls gone as soon as the input ends: the parent has then ended.
func serve(in io.Reader, out io.Writer, gone func()) error {
	questions := make(chan any)
	failed := make(chan error, 1)
	go func() {
		for {
			q, err := see.ReadAsked(in)
			if errors.Is(err, io.EOF) {
				gone()
			}
			if err != nil {
				failed <- err
				close(questions)
				return
			}
			questions <- q
		}
	}()
	var network *loaded
	defer func() { network.close() }()
	for asked := range questions {
		var err error
		switch q := asked.(type) {
		case *see.Question:
			err = see.WriteAnswer(out, answer(q))
		case *see.Network:
			var seen *see.Seen
			network, seen = network.load(q)
			q.Graph = nil // OpenCV has its own copy of the weights
			debug.FreeOSMemory()
			err = see.WriteSeen(out, q, seen)
		case *see.Picture:
			err = see.WriteSeen(out, q, network.look(q))
		}
		if err != nil {
			return err
		}
	}
	if err := <-failed; !errors.Is(err, io.EOF) {
		return err
	}
	return nil
}
