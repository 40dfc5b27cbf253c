// Package cli is the command line: a table of commands, one file each, that read what the user
// wrote, ask the answer floor, and print a table for people or one JSON document for scripts.
//
// Exit codes: 0 done; 1 a check failed or the trip runs short (plan and check only); 2 wrong use or
// bad input; 3 internal fault. Kinds of error become codes here and nowhere else.
package cli

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/base/problem"
	"noonmark/internal/sheet/sheet"
)

// Exit codes of the command contract.
const (
	ExitDone     = 0
	ExitShort    = 1
	ExitUse      = 2
	ExitInternal = 3
)

// Streams is where a command reads and writes, and its clock, so that tests run it in process.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
	Terminal bool // Err is a terminal: progress may be shown
	Width    int  // of Out, in columns; 0: not a terminal
	Clock    func() time.Time
	data     string // the data file, by --data; empty: the usual one
	// took is handed the sheets that a command would print on paper, for the browser; nil: they are printed.
	took func([]sheet.Sheet)
	// served: the command is run for a page. The texts it reads came from there, and name files beside them only.
	served bool
}

// errShort says that a check failed or the trip runs short: exit code 1, nothing more to print.
var errShort = errors.New("the trip runs short")

// useError is wrong use: exit code 2.
type useError struct{ err error }

func (e useError) Error() string { return e.err.Error() }
func (e useError) Unwrap() error { return e.err }

// misuse returns a useError with the formatted message.
func misuse(format string, args ...any) error { return useError{fmt.Errorf(format, args...)} }

// command is a row of the table.
type command func(s *Streams) *cobra.Command

// commands is the table, in the order help shows it.
func commands() []command {
	return []command{planCommand, checkCommand, tripCommand, shadeCommand, chooseCommand, arrangeCommand, compareCommand, batteryCommand, benchCommand, recordCommand, logCommand, diagnoseCommand,
		claimCommand, bookCommand, drawCommand, partsCommand, dayplanCommand, templateCommand, newCommand, nowCommand, noonCommand, curveCommand, cableCommand, serveCommand,
		sunCommand, skyCommand, storeCommand,
		exampleCommand, schemaCommand, versionCommand}
}

// Run runs one command line and returns the exit code. A panic is an internal fault: it is reported
// in one line and never leaves.
func Run(ctx context.Context, args []string, s Streams) (code int) {
	defer func() {
		if r := recover(); r != nil {
			fmt.Fprintf(s.Err, "noonmark: internal fault: %v\n", r)
			code = ExitInternal
		}
	}()
	out := &checked{w: s.Out}
	s.Out = out
	root := rootCommand(&s)
	root.SetArgs(args)
	root.SetIn(s.In)
	root.SetOut(s.Out)
	root.SetErr(s.Err)
	err := root.ExecuteContext(ctx)
	if lost := out.lost(); lost != nil && (err == nil || errors.Is(err, errShort)) {
		err = lost
	}
	return report(&s, err)
}

// checked is a writer that keeps the first fault: no command answers done when what it printed was lost.
type checked struct {
	w   io.Writer
	mu  sync.Mutex
	err error
}

func (c *checked) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	if err != nil {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.err = cmp.Or(c.err, err)
	}
	return n, err
}

func (c *checked) lost() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.err
}

// report prints an error and returns its exit code.
func report(s *Streams, err error) int {
	var bad *problem.Error
	var use useError
	switch {
	case err == nil:
		return ExitDone
	case errors.Is(err, errShort):
		return ExitShort
	case errors.As(err, &bad):
		for _, p := range bad.Problems {
			fmt.Fprintln(s.Err, p)
		}
		fmt.Fprintf(s.Err, "noonmark: %s; nothing was computed\n", count(len(bad.Problems), "problem"))
		return ExitUse
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		fmt.Fprintln(s.Err, "noonmark: stopped")
		return ExitUse
	case errors.As(err, &use):
		fmt.Fprintf(s.Err, "noonmark: %v\n", err)
		return ExitUse
	}
	fmt.Fprintf(s.Err, "noonmark: %v\n", err)
	return ExitInternal
}

func rootCommand(s *Streams) *cobra.Command {
	cobra.EnableCommandSorting = false
	root := &cobra.Command{
		Use:   "noonmark",
		Short: "Solar power on a camping vehicle: what it gives, and whether it lasts the trip",
		Long: `Noonmark computes a small solar charging system on a camping vehicle from a build file:
sun, weather, heat, cells, wiring, battery and loads, through the days of a trip.

First steps:
  noonmark example heron-van > van.yaml   an example to read and change
  noonmark plan van.yaml                  the whole job on one page
  noonmark new mine.yaml                  eight questions, a first file of your own

A figure that was not given is assumed, and every answer lists what it assumed.
Exit codes: 0 done, 1 a check failed or the trip runs short (plan, check), 2 wrong use or bad input,
3 internal fault.`,
		SilenceUsage: true, SilenceErrors: true, SuggestionsMinimumDistance: 2,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			if near := c.SuggestionsFor(args[0]); len(near) > 0 {
				return misuse("no command %q; did you mean %s?", args[0], near[0])
			}
			return misuse("no command %q; noonmark --help lists them", args[0])
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return misuse("%s; %s --help lists the flags", flagFault(err), c.CommandPath())
	})
	root.PersistentFlags().StringVar(&s.data, "data", "", "the data file that holds store:NAME (default: noonmark/store.db in the user's folder for settings)")
	for _, make := range commands() {
		root.AddCommand(make(s))
	}
	return root
}

// flagFault says what is wrong with a flag, without the words of the number reader.
func flagFault(err error) string {
	text, reader, found := strings.Cut(err.Error(), ": strconv.")
	if !found {
		return text
	}
	want := "a whole number"
	for name, wanted := range map[string]string{"ParseUint": "a whole number of 0 or more", "ParseFloat": "a number", "ParseBool": "true or false"} {
		if strings.HasPrefix(reader, name) {
			want = wanted
		}
	}
	return text + ": wanted " + want
}

// exactly demands n arguments, named for the message.
func exactly(n int, names string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) != n {
			return misuse("%s wants %s; %s --help shows an example", strings.TrimPrefix(c.CommandPath(), "noonmark "), names, c.CommandPath())
		}
		return nil
	}
}

// writeJSON prints v as one indented document.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// count returns "1 problem", "3 problems".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
