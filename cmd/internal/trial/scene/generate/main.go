// Command generate makes the demo's files again: go generate, in the folder of
// the package scene, or go run ./cmd/internal/trial/scene/generate FOLDER from the
// repository's top.
package main

import (
	"context"
	"fmt"
	"log"
	"os"

	"ecart/cmd/internal/trial/scene"
)

func main() {
	log.SetFlags(0)
	folder := "../../demotake"
	if len(os.Args) > 1 {
		folder = os.Args[1]
	}
	s, err := scene.Named("leap")
	if err != nil {
		log.Fatal(err)
	}
	err = s.WriteDemo(context.Background(), folder, func(done, of int) {
		fmt.Fprintf(os.Stderr, "\rframe %d of %d", done, of)
	})
	fmt.Fprintln(os.Stderr)
	if err != nil {
		log.Fatal(err)
	}
}
