package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"
	"time"
)

func main() {
	log.SetFlags(0)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, os.Args[1:], os.Stdout); err != nil && !errors.Is(err, flag.ErrHelp) {
		log.Fatal(err)
	}
}

type options struct {
	seed  uint64
	only  []string // kinds to run; empty: all
	one   int      // a case of the kind; -1: all
	tenth bool
	keep  string // a folder for the files of cases that broke

	program string // to attack; "" builds one
}

const usage = `hard attacks the built program and prints what broke.

  go run ./cmd/internal/trial/hard                          all of it, under 15 minutes
  go run ./cmd/internal/trial/hard -tenth                   a tenth of the cases, and nothing that needs a
                                                      build under a sanitizer
  go run ./cmd/internal/trial/hard -only takes              one kind of attack
  go run ./cmd/internal/trial/hard -seed 7 -only takes -case 131 -keep out
                                                      one case again, its files kept

`

func parse(args []string, errs io.Writer) (options, error) {
	var o options
	f := flag.NewFlagSet("hard", flag.ContinueOnError)
	f.SetOutput(errs)
	f.Uint64Var(&o.seed, "seed", 0, "the seed; else one from the clock, which is printed")
	only := f.String("only", "", "only these kinds, with commas between them: "+strings.Join(kindNames(), ", "))
	f.IntVar(&o.one, "case", -1, "only this case of the kind")
	f.BoolVar(&o.tenth, "tenth", false, "a tenth of the cases")
	f.StringVar(&o.keep, "keep", "", "keep the files of cases that broke in this `folder`")
	f.StringVar(&o.program, "program", "", "attack the program `FILE`, instead of building one")
	f.Usage = func() {
		fmt.Fprint(errs, usage)
		f.PrintDefaults()
	}
	if err := f.Parse(args); err != nil {
		return o, err
	}
	if *only != "" {
		o.only = strings.Split(*only, ",")
	}
	for _, k := range o.only {
		if !slices.Contains(kindNames(), k) {
			return o, fmt.Errorf("there is no kind %q\nthere are %s", k, strings.Join(kindNames(), ", "))
		}
	}
	switch {
	case f.NArg() > 0:
		return o, fmt.Errorf("%q is not a flag\nsee -help", f.Arg(0))
	case o.one >= 0 && len(o.only) != 1:
		return o, fmt.Errorf("-case %d of which kind\nname it with -only", o.one)
	}
	if o.seed == 0 {
		o.seed = uint64(time.Now().UnixNano()) % 1_000_000
	}
	return o, nil
}

func run(ctx context.Context, args []string, out io.Writer) error {
	o, err := parse(args, os.Stderr)
	if err != nil {
		return err
	}
	b, err := newBench(ctx, o)
	if err != nil {
		return err
	}
	defer b.close()
	fmt.Fprintf(out, "seed %d\n", o.seed)
	var rows []row
	for _, k := range kinds {
		if len(o.only) > 0 && !slices.Contains(o.only, k.name) {
			continue
		}
		if ctx.Err() != nil {
			rows = append(rows, row{kind: k, notRun: errors.New("the run was interrupted before")})
			continue
		}
		r := b.attack(ctx, k, out)
		rows = append(rows, r)
	}
	return printTable(out, o, rows)
}
