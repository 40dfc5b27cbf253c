package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"noonmark/internal/base/problem"
	"noonmark/internal/edge/buildfile"
)

// questions are the eight; each names what it fills in, and its default.
var questions = []struct {
	ask, hint, def string
	into           func(a *buildfile.Answers) *string
}{
	{"How large is the roof or lid?", "front to rear by left to right", "2.1 m x 1.35 m", func(a *buildfile.Answers) *string { return &a.Vehicle }},
	{"Which modules?", "how many, then the label as printed", "2 x foil CIGS 90 W", func(a *buildfile.Answers) *string { return &a.Modules }},
	{"Which charge controller?", "highest input volts and output amps, or a class: controller-16a, controller-32a, unit-60", "controller-16a", func(a *buildfile.Answers) *string { return &a.Charger }},
	{"Which battery?", "100 Ah at 12.8 V, 1280 Wh, or a class: lfp-100, lfp-200, agm-100", "lfp-100", func(a *buildfile.Answers) *string { return &a.Battery }},
	{"How many people?", "", "2", func(a *buildfile.Answers) *string { return &a.People }},
	{"What do you run?", "fridge-40, fridge-90, lights, phones, laptop, fan, heater, pump, cpap, standby", "fridge-40, lights, phones, standby", func(a *buildfile.Answers) *string { return &a.Loads }},
	{"Where will you stand?", "a town with its country, or latitude, longitude", "Evora, PT", func(a *buildfile.Answers) *string { return &a.Where }},
	{"When, and for how many nights?", "", "2027-06-01, 14 nights", func(a *buildfile.Answers) *string { return &a.When }},
}

func newCommand(s *Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "new [FILE]",
		Short: "eight questions, a first build file",
		Long: `Asks eight questions, each with a default that Enter takes, and writes a build file that plans.
Without FILE it is printed. A file that is there is not written over.

  noonmark new mine.yaml
  noonmark plan mine.yaml`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				if _, err := os.Stat(args[0]); err == nil {
					return misuse("%s is there already; give another name", args[0])
				}
			}
			a, err := askAll(s)
			if err != nil {
				return err
			}
			text, err := buildfile.Starter(a)
			if err != nil {
				var bad *problem.Error
				if errors.As(err, &bad) {
					return err
				}
				return misuse("%v", err)
			}
			if len(args) == 0 {
				_, err := s.Out.Write(text)
				return err
			}
			if err := writeNew(args[0], text); err != nil {
				return misuse("%v", err)
			}
			fmt.Fprintf(s.Err, "\n%s is written. Next: noonmark plan %s\n", args[0], args[0])
			return nil
		},
	}
}

// askAll asks on the error stream, so that a printed file stays clean, and reads a line for each.
func askAll(s *Streams) (buildfile.Answers, error) {
	var a buildfile.Answers
	in := bufio.NewReader(s.In)
	for i, q := range questions {
		fmt.Fprintf(s.Err, "%d of %d  %s", i+1, len(questions), q.ask)
		if q.hint != "" {
			fmt.Fprintf(s.Err, " (%s)", q.hint)
		}
		fmt.Fprintf(s.Err, "\n       [%s] ", q.def)
		line, err := in.ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return a, err
		}
		if len(line) > 400 {
			return a, misuse("an answer of at most 400 letters")
		}
		*q.into(&a) = strings.TrimSpace(line)
	}
	fmt.Fprintln(s.Err)
	return a, nil
}

// writeNew writes a file that is not there yet, whole or not at all.
func writeNew(path string, text []byte) error {
	part := path + ".part"
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if e := f.Sync(); err == nil {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Link(part, path)
		if err != nil && !errors.Is(err, os.ErrExist) {
			err = os.Rename(part, path) // a file system without links
		}
	}
	os.Remove(part)
	return err
}
