package cli

import (
	"bytes"
	"fmt"
	"runtime/debug"
	"sort"
	"strings"

	"github.com/spf13/cobra"

	"noonmark/examples"
	"noonmark/internal/build/place"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/physics/climate"
)

func exampleCommand(s *Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "example [NAME]",
		Short: "print an example build or table of readings, to read and change",
		Long: `Without a name: the examples there are. Vehicles and parts are invented.

  noonmark example
  noonmark example heron-van > van.yaml
  noonmark example two-in-turns > readings.csv`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				for _, e := range append(examples.All(), examples.Bad()...) {
					fmt.Fprintf(s.Out, "%-16s %s\n", e.Name, e.Line)
				}
				for _, e := range examples.Readings() {
					fmt.Fprintf(s.Out, "%-16s %s\n", e.Name, e.Line)
				}
				return nil
			}
			for _, e := range append(examples.All(), examples.Bad()...) {
				if e.Name == strings.TrimSuffix(args[0], ".yaml") {
					_, err := s.Out.Write(e.Text)
					return err
				}
			}
			for _, e := range examples.Readings() {
				if e.Name == strings.TrimSuffix(args[0], ".csv") {
					_, err := s.Out.Write(e.Text)
					return err
				}
			}
			var names []string
			for _, e := range append(examples.All(), examples.Bad()...) {
				names = append(names, e.Name)
			}
			return misuse("no example %q; there are %s", args[0], strings.Join(names, ", "))
		},
	}
}

func schemaCommand(s *Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "print the JSON Schema of a build file, for editors",
		Long: `The schema names every key, with its meaning and an example of its text. Messages about a file
come from the program itself, with line and column.

  noonmark schema > noonmark.schema.json`,
		Args: exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			b, err := buildfile.Schema()
			if err != nil {
				return err
			}
			_, err = s.Out.Write(append(bytes.TrimRight(b, "\n"), '\n'))
			return err
		},
	}
}

// version is the program's own.
const version = "0.1.0"

func versionCommand(s *Streams) *cobra.Command {
	var sources, asJSON bool
	c := &cobra.Command{
		Use:   "version [--sources]",
		Short: "version, and with --sources where data and modules come from",
		Args:  exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			lines := sourceLines()
			if asJSON {
				return writeJSON(s.Out, map[string]any{"version": version, "sources": lines})
			}
			fmt.Fprintln(s.Out, "noonmark", version)
			if sources {
				for _, l := range lines {
					fmt.Fprintln(s.Out, "  "+l)
				}
			}
			return nil
		},
	}
	c.Flags().BoolVar(&sources, "sources", false, "attribution of data and modules")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// sourceLines are the attributions of the data, then the modules in the binary.
func sourceLines() []string {
	lines := append(climate.Attributions(), place.Attributions()...)
	if info, ok := debug.ReadBuildInfo(); ok {
		var mods []string
		for _, m := range info.Deps {
			mods = append(mods, "module "+m.Path+" "+m.Version)
		}
		sort.Strings(mods)
		lines = append(lines, mods...)
	}
	return lines
}
