// Command ecart-see finds the corners of boards with OpenCV, for the program
// ecart, which starts it: questions on standard input, answers on standard
// output (package see). It is a program of its own since OpenCV may end the
// process.
package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"

	"ecart/vision/see"
)

func main() {
	signal.Ignore(os.Interrupt) // Ctrl-C reaches the parent too, which decides
	if len(os.Args) > 1 {
		fmt.Fprintln(os.Stderr, "ecart-see is started by ecart and takes no arguments: try ecart lens --help")
		os.Exit(2)
	}
	if err := serve(bufio.NewReader(os.Stdin), os.Stdout, func() { os.Exit(0) }); err != nil {
		fmt.Fprintln(os.Stderr, "ecart-see:", err)
		os.Exit(1)
	}
}

// serve answers questions until the input ends. Reading goes on while a picture
// is searched, and gone is called when the input ends meanwhile: whoever asked is
// no longer there.
func serve(in io.Reader, out io.Writer, gone func()) error {
	questions := make(chan *see.Question)
	failed := make(chan error, 1)
	go func() {
		for {
			q, err := see.ReadQuestion(in)
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
	for q := range questions {
		if err := see.WriteAnswer(out, answer(q)); err != nil {
			return err
		}
	}
	if err := <-failed; !errors.Is(err, io.EOF) {
		return err
	}
	return nil
}
