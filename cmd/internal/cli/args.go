package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/text"
)

// usage is a call that the command does not understand.
func usage(c *cobra.Command, fact string) error {
	return fault.New(fact, fmt.Sprintf("see '%s --help'", c.CommandPath()))
}

// noArgs is for commands that take no argument; those with commands of their
// own take it for a mistyped one.
func noArgs(c *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return nil
	case c.HasSubCommands():
		return noCommand(c, args[0])
	}
	return usage(c, fmt.Sprintf("'%s' takes no argument, and %q was given", c.CommandPath(), args[0]))
}

// oneArg is for commands that take one argument and no more.
func oneArg(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return usage(c, fmt.Sprintf("'%s' was given no %s", c.CommandPath(), what))
		case len(args) > 1:
			return usage(c, fmt.Sprintf("'%s' takes one %s, and %d were given: %q", c.CommandPath(), what, len(args), args))
		case args[0] == "":
			return usage(c, fmt.Sprintf("the %s given to '%s' is empty, %q", what, c.CommandPath(), args[0]))
		}
		return nil
	}
}

// noCommand is a command that is not there.
func noCommand(c *cobra.Command, name string) error {
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

// noEmptyFlags refuses a flag given with nothing in it, as a script does whose
// variable is not set.
func noEmptyFlags(c *cobra.Command, _ []string) error {
	var err error
	c.Flags().Visit(func(f *pflag.Flag) {
		if err == nil && f.Value.String() == "" {
			err = usage(c, fmt.Sprintf("--%s was given with nothing in it, %q", f.Name, ""))
		}
	})
	return err
}

// flagError puts the complaints about flags into our own words.
func flagError(c *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var missing *pflag.ValueRequiredError
	var value *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedName()
		if group := unknown.GetSpecifiedShortnames(); group != "" {
			return usage(c, fmt.Sprintf("'%s' has no flag %q", c.CommandPath(), "-"+group))
		}
		var names []string
		c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
		hint := fmt.Sprintf("'%s --help' lists the flags", c.CommandPath())
		if near := text.Nearest(name, names); near != "" {
			hint = fmt.Sprintf("did you mean --%s? %s", near, hint)
		}
		return fault.New(fmt.Sprintf("'%s' has no flag %q", c.CommandPath(), "--"+name), hint)
	case errors.As(err, &missing):
		return usage(c, fmt.Sprintf("--%s needs something behind it", missing.GetSpecifiedName()))
	case errors.As(err, &value):
		what := map[string]string{"float64": "a number", "uint64": "a whole number from 0 on", "bool": "true or false"}[value.GetFlag().Value.Type()]
		return usage(c, fmt.Sprintf("--%s takes %s, not %q", value.GetFlag().Name, what, value.GetValue()))
	}
	return usage(c, err.Error())
}
