// Command ecart reads joint angles off pictures and says what each is worth.
package main

import (
	"os"

	"ecart/cmd/internal/cli"
)

func main() {
	os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
