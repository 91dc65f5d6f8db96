// Package flags has what several commands share: arguments and their errors, the
// flags by which marks are read, a reading is kept and a head is covered, and the forms of the
// files that are written.
package flags

import (
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/text"
)

// Usage returns the error of a wrong call; its hint points to the help.
func Usage(c *cobra.Command, fact string) error {
	return fault.New(fact, fmt.Sprintf("see '%s --help'", c.CommandPath()))
}

// NoArgs refuses arguments. For a command with subcommands the argument is taken for a
// mistyped subcommand.
func NoArgs(c *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return nil
	case c.HasSubCommands():
		return NoCommand(c, args[0])
	}
	return Usage(c, fmt.Sprintf("'%s' takes no argument, and %q was given", c.CommandPath(), args[0]))
}

// OneArg accepts exactly one argument, which is not empty.
func OneArg(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return Usage(c, fmt.Sprintf("'%s' was given no %s", c.CommandPath(), what))
		case len(args) > 1:
			return Usage(c, fmt.Sprintf("'%s' takes one %s, and %d were given: %q", c.CommandPath(), what, len(args), args))
		case args[0] == "":
			return Usage(c, fmt.Sprintf("the %s given to '%s' is empty, %q", what, c.CommandPath(), args[0]))
		}
		return nil
	}
}

// OptionalArg accepts no argument, or one as OneArg does.
func OptionalArg(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		return OneArg(what)(c, args)
	}
}

// NoCommand returns the error of an unknown command, with the nearest known name.
func NoCommand(c *cobra.Command, name string) error {
	hint := fmt.Sprintf("'%s --help' lists the commands", c.CommandPath())
	var names []string
	for _, sub := range c.Commands() {
		names = append(names, sub.Name())
	}
	if near := text.Nearest(name, names); near != "" {
		hint = fmt.Sprintf("did you mean %q? %s", near, hint)
	}
	return fault.New(fmt.Sprintf("there is no command %q", c.CommandPath()+" "+name), hint)
}

// NoEmptyFlags refuses a flag with an empty value, such as from a script's unset variable.
func NoEmptyFlags(c *cobra.Command, _ []string) error {
	var err error
	c.Flags().Visit(func(f *pflag.Flag) {
		if err == nil && f.Value.String() == "" {
			err = Usage(c, fmt.Sprintf("--%s was given with nothing in it, %q", f.Name, ""))
		}
	})
	return err
}

// FlagError rewords pflag's errors.
func FlagError(c *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var missing *pflag.ValueRequiredError
	var value *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedName()
		if group := unknown.GetSpecifiedShortnames(); group != "" {
			return Usage(c, fmt.Sprintf("'%s' has no flag %q", c.CommandPath(), "-"+group))
		}
		var names []string
		c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
		what := "flags"
		if c.HasSubCommands() {
			what = "commands"
		}
		hint := fmt.Sprintf("'%s --help' lists the %s", c.CommandPath(), what)
		if near := text.Nearest(name, names); near != "" {
			hint = fmt.Sprintf("did you mean --%s? %s", near, hint)
		}
		return fault.New(fmt.Sprintf("'%s' has no flag %q", c.CommandPath(), "--"+name), hint)
	case errors.As(err, &missing):
		return Usage(c, fmt.Sprintf("--%s needs something behind it", missing.GetSpecifiedName()))
	case errors.As(err, &value):
		what := map[string]string{"float64": "a number", "uint64": "a whole number from 0 on", "bool": "true or false"}[value.GetFlag().Value.Type()]
		return Usage(c, fmt.Sprintf("--%s takes %s, not %q", value.GetFlag().Name, what, value.GetValue()))
	}
	return Usage(c, err.Error())
}

// ReadingNumber parses the number of a reading in the journal, 1 or more.
func ReadingNumber(s string) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || n < 1 {
		return 0, fault.New(fmt.Sprintf("%q is no number of a reading", s), "'ecart journal list' shows the numbers there are")
	}
	return n, nil
}

// ReadingNumbers parses several; nil for an empty list.
func ReadingNumbers(list []string) (out []int64, err error) {
	for _, s := range list {
		n, err := ReadingNumber(s)
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}
