// Command lookonce stands in for ecart-see where many tests look at the same pictures: it asks the real ecart-see, once for
// each picture, and keeps the answers in a folder that all of its processes share. Only tests build and run it.
package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"ecart/vision/see"
	"ecart/vision/see/seetest"
)

func main() {
	if err := serve(bufio.NewReader(os.Stdin), os.Stdout, os.Getenv(seetest.Kept)); err != nil {
		panic(err) // the asking program sees that it ended without an answer
	}
}

// serve answers questions until the input ends. A network is not loaded before a picture comes that was never looked at: if it
// is refused, the answer to that picture is missing.
func serve(in io.Reader, out io.Writer, folder string) error {
	if err := os.Setenv("ECART_SEE", os.Getenv(seetest.Real)); err != nil {
		return err
	}
	var child see.Child
	defer child.Close()
	var network *see.Network
	var name string // of the network
	for {
		asked, err := see.ReadAsked(in)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		switch q := asked.(type) {
		case *see.Question:
			a, err := child.Ask(context.Background(), q)
			if err != nil {
				return err
			}
			if err := see.WriteAnswer(out, a); err != nil {
				return err
			}
		case *see.Network:
			network, name = q, fmt.Sprintf("%q %x", q.Outputs, sha256.Sum256(q.Graph))
			if err := see.WriteSeen(out, q, &see.Seen{}); err != nil {
				return err
			}
		case *see.Picture:
			answer, err := look(&child, network, q, filepath.Join(folder, nameOf(name, q)))
			if err != nil {
				return err
			}
			if _, err := out.Write(answer); err != nil {
				return err
			}
		}
	}
}

// nameOf is the name of the file with the answer of a network to a picture.
func nameOf(network string, p *see.Picture) string {
	sum := sha256.New()
	fmt.Fprintf(sum, "%s %d %d\n", network, p.Width, p.Height)
	sum.Write(p.RGB)
	return fmt.Sprintf("%x", sum.Sum(nil))
}

// look returns the answer to a picture as it is written: the one in the file at path, else that of the real program.
func look(child *see.Child, n *see.Network, p *see.Picture, path string) ([]byte, error) {
	if kept, err := os.ReadFile(path); err == nil {
		return kept, nil
	}
	seen, err := child.Look(context.Background(), n, p)
	if err != nil {
		return nil, err
	}
	var answer bytes.Buffer
	if err := see.WriteSeen(&answer, p, seen); err != nil {
		return nil, err
	}
	part, err := os.CreateTemp(filepath.Dir(path), "part-")
	if err != nil {
		return nil, err
	}
	defer os.Remove(part.Name())
	_, err = part.Write(answer.Bytes())
	if err = errors.Join(err, part.Close()); err != nil {
		return nil, err
	}
	return answer.Bytes(), os.Rename(part.Name(), path)
}
