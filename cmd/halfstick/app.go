package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"unicode"

	"github.com/natefinch/atomic"
	"github.com/spf13/cobra"
)

// version is replaced at build time with -ldflags "-X main.version=…".
var version = "development"

// Exit status of the program.
const (
	exitDone   = 0
	exitFailed = 1 // bad file, no device, nothing to measure
	exitUsage  = 2
)

// usageError marks a mistake in how the program was called.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func usagef(format string, args ...any) error {
	return usageError{fmt.Errorf(format, args...)}
}

// run executes one command line and returns the exit status. Results go to
// out, everything else to errs.
func run(args []string, out, errs io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetOut(out)
	root.SetErr(errs)
	cmd, err := root.ExecuteC()
	if err == nil {
		return exitDone
	}
	if errors.Is(err, syscall.EPIPE) {
		err = errors.New("the reader of the output went away before everything was written")
	}
	fmt.Fprintf(errs, "halfstick: %s\n", printable(err.Error()))
	var usage usageError
	if errors.As(err, &usage) {
		fmt.Fprintf(errs, "see: %s --help\n", cmd.CommandPath())
		return exitUsage
	}
	return exitFailed
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "halfstick",
		Short: "measure controller axes, propose a response, hand over the table",
		Long: `halfstick records the axes of controllers, measures them, says in plain numbers
what is wrong and whether a response can live with it or a screwdriver is
needed, proposes a deadband and a shape, and hands over a table for any program.

For desktop simulation only.`,
		Example:       "  halfstick demo --out demo",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("there is no command %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddCommand(
		newDevices(), newRecord(), newMeasure(), newPropose(), newCompare(),
		newReplay(), newExport(), newTranslate(), newBench(), newDemo(), newVersion(),
	)
	return root
}

// needs turns a count of arguments into a usage error that names them.
func needs(least, most int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return usagef("name %s", what)
		case most >= 0 && len(args) > most:
			return usagef("too many arguments from %q on: name %s", args[most], what)
		}
		return nil
	}
}

// outFile is a result's way to a file: whole or not at all, and never over an
// existing file unless the person said so.
type outFile struct {
	path  string
	force bool
}

func addForce(cmd *cobra.Command, force *bool) {
	cmd.Flags().BoolVar(force, "force", false, "overwrite files that exist")
}

func (o outFile) write(render func(io.Writer) error) error {
	if err := o.free(); err != nil {
		return err
	}
	var buffer bytes.Buffer
	if err := render(&buffer); err != nil {
		return err
	}
	if o.passes() {
		return o.pass(buffer.Bytes())
	}
	path := o.path
	if leadsTo, err := filepath.EvalSymlinks(path); err == nil {
		path = leadsTo // the link stays: whoever keeps files elsewhere has set it on purpose
	}
	_, missing := os.Lstat(path)
	if err := atomic.WriteFile(path, &buffer); err != nil {
		return fmt.Errorf("cannot write %s: %w; choose a folder that you may write to", path, err)
	}
	if missing != nil {
		// A new file comes from a temporary one that only its owner may read.
		return os.Chmod(path, 0o644)
	}
	return nil
}

// free says whether the path may be written, before long work is begun.
func (o outFile) free() error {
	if o.force || o.passes() {
		return nil
	}
	if _, err := os.Lstat(o.path); err == nil {
		return fmt.Errorf("%s exists; choose another name or add --force to overwrite it", o.path)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("cannot look at %s: %w", o.path, err)
	}
	return nil
}

// passes tells whether the path is a pipe or a device such as the null device, which
// takes what is written and must not have a file put in its place.
func (o outFile) passes() bool {
	is, err := os.Stat(o.path)
	return err == nil && !is.Mode().IsRegular() && !is.IsDir()
}

func (o outFile) pass(b []byte) error {
	f, err := os.OpenFile(o.path, os.O_WRONLY, 0)
	if err == nil {
		_, err = f.Write(b)
		err = errors.Join(err, f.Close())
	}
	if err != nil {
		return fmt.Errorf("cannot write to %s: %w; name a file, or a pipe that something reads", o.path, err)
	}
	return nil
}

// allFree says whether the files that were asked for may be written.
func allFree(files ...outFile) error {
	for _, o := range files {
		if o.path == "" {
			continue
		}
		if err := o.free(); err != nil {
			return err
		}
	}
	return nil
}

// writeOut renders to the file where one is named, else to the command's output.
// Commands that do both print first and write files then: a run whose reader
// has gone away fails, and a run that fails leaves no file.
func writeOut(cmd *cobra.Command, o outFile, render func(io.Writer) error) error {
	if o.path != "" {
		return o.write(render)
	}
	var buffer bytes.Buffer
	if err := render(&buffer); err != nil {
		return err
	}
	_, err := io.WriteString(cmd.OutOrStdout(), printable(buffer.String()))
	return err
}

// printable writes characters that control a terminal as JSON does: a file that
// somebody sent may have them in its names, and they are no reason to trust it
// with the screen. JSON stays the same JSON.
func printable(s string) string {
	control := func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }
	if !strings.ContainsFunc(s, control) {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if control(r) {
			fmt.Fprintf(&b, "\\u%04x", r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// writeJSON prints v as people and programs both can read it.
func writeJSON(w io.Writer, v any) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(v)
}
